"""How the player stands, what changed, and what to do next."""
