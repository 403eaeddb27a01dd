"""Charts and lines in other keys, in the written pitch of an instrument and within its range."""
