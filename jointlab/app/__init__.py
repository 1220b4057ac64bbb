"""The doors for people: the workflow, and the command line upon it."""
