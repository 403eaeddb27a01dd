"""Where phrases fit into tunes."""
