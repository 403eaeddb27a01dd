"""What is in a phrase: what each chord does, and what each note of the line is to it."""
