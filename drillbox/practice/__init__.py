"""The use-cases: bring a phrase in, run a drill session, sum up."""
