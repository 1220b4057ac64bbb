"""From pull-apart tests of glue joints to a decision about a woodturning mount."""
