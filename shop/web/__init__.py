"""What every page is made with: forms and their fields, answers and messages, the context of the frame. Imports no app but this one."""
