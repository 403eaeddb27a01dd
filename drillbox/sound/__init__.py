"""What is heard: the click, and practice loops as MIDI and audio files."""
