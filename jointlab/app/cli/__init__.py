"""The command line, in workflow order."""
