"""A child for the terminal tests: prints every press that it reads, until 'q', END or INTERRUPT.

Options: ``alternate`` the second screen, ``busy`` half a second of work before the first read,
``stuck`` ten seconds of it, ``forget`` half a second and then what was typed is dropped.
"""

import sys
import time

from drillbox.terminal.posix import Keyboard
from drillbox.terminal.presses import END, INTERRUPT


def main(options: list[str]) -> None:
    print("waiting", flush=True)
    input()
    with Keyboard(alternate="alternate" in options) as keyboard:
        print("<ready>", flush=True)
        if "busy" in options:
            time.sleep(0.5)
        if "forget" in options:
            time.sleep(0.5)
            keyboard.forget_typed()
            print("<forgotten>", flush=True)
        if "stuck" in options:
            time.sleep(10)
        while True:
            press = keyboard.read_key(20)
            print(f"<{press.name}|{press.reason}>", flush=True)
            if press in {END, INTERRUPT} or press.name == "q":
                break
    print("over", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
