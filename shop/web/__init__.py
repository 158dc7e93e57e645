"""What every page is made with: forms and fields, answers and messages, the context of the frame. Imports no other app."""
