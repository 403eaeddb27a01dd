"""A child for the port tests: a virtual port of JACK's that plays a note for each line."""

from __future__ import annotations

import sys

import rtmidi2

out = rtmidi2.MidiOut("source", api=rtmidi2.API_UNIX_JACK)
out.open_virtual_port("keys")
print("<open>", flush=True)
for line in sys.stdin:
    out.send_raw(0x90, int(line), 80)
    out.send_raw(0xB0, 1, 64)
    out.send_raw(0x80, int(line), 0)
