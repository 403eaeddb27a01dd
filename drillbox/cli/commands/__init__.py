"""The commands, each in a file of its name."""
