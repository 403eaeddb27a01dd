"""The only room that touches the terminal: keys, the beat clock, the click, the ears."""
