"""Pure decisions: what is remembered, at what tempo, what comes next, what is weak."""
