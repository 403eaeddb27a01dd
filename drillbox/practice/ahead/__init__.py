"""The days to come: chances of a clean go, and the drill played forward."""
