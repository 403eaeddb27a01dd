"""The commands, each in a file of its name, or in one with those that read the same."""
