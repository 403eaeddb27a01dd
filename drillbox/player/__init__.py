"""The player at the instrument: what each press and beat does in a drill and in a round."""
