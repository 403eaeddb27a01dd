"""The player's settings: what there is, what each may be, and how one is changed."""
