"""The steps. Each creates what it needs from texts written in it, never from the tables as they are now."""
