"""With the instrument in hand: drills, rounds and tunes, each rating on disk at once."""
