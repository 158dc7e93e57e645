"""Who did what: the act that a request or command is, and the triggers that write it down beside every change of a row."""
