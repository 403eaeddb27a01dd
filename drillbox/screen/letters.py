"""Large letters for chord symbols, keys and tempi: the project's own shapes.

``TALL`` are five lines high; ``LOW`` three: two rows of ink share a line, the sixth hangs below.
For charts that find no room otherwise ``SLIM`` draws these half as wide, and ``LINED``, drawn
with lines and three high, stand in for them where a terminal has ASCII alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

GAP = 1  # columns between two letters
_HALVES = {"  ": " ", "# ": "▀", " #": "▄", "##": "█"}
_ASCII_HALVES = {"  ": " ", "# ": '"', " #": "_", "##": "#"}
# Four squares of ink in a cell: the upper two from left to right, then the lower two.
_QUARTERS = dict(
    zip(
        (
            f"{upper}{lower}"
            for upper in ("  ", "# ", " #", "##")
            for lower in ("  ", "# ", " #", "##")
        ),
        " ▖▗▄▘▌▚▙▝▞▐▟▀▛▜█",
        strict=True,
    )
)


@dataclass(frozen=True, slots=True)
class Alphabet:
    """Letters of one height. All rows of one letter are equally wide, ink is ``#``.

    ``halved``: two rows of ink share one line of text; ``slim``: two columns of it share one
    column as well, for which ASCII has no signs: there, letters of lines take their place.
    ``apart``: columns between two chords.
    """

    shapes: Mapping[str, tuple[str, ...]]
    ink_rows: int
    halved: bool
    apart: int
    slim: bool = False

    @property
    def lines(self) -> int:
        """Return how many lines of text a letter takes."""
        return self.ink_rows // 2 if self.halved else self.ink_rows

    def draw(self, text: str, *, ascii: bool) -> list[str]:
        """Return ``text`` as lines of equal width, in blocks or in ASCII.

        Letters b and the flat sign have one shape, as players write them. Raises ValueError for
        a character without one: a symbol with a part missing would be a wrong symbol.
        """
        shapes = [self._shape(sign) for sign in text]
        if self.slim:
            return [_quartered(shapes, row) for row in range(0, self.ink_rows, 2)]
        rows = [(" " * GAP).join(shape[row] for shape in shapes) for row in range(self.ink_rows)]
        if not self.halved:
            return rows if ascii else [row.replace("#", "█") for row in rows]
        halves = _ASCII_HALVES if ascii else _HALVES
        pairs = zip(rows[::2], rows[1::2], strict=True)
        return ["".join(halves[a + b] for a, b in zip(*pair, strict=True)) for pair in pairs]

    def width(self, text: str) -> int:
        """Return how many columns ``draw`` needs for ``text``; raises as it does."""
        widths = [len(self._shape(sign)[0]) for sign in text]
        if self.slim:
            return sum(each // 2 + 1 for each in widths)
        return sum(widths) + GAP * max(0, len(widths) - 1)

    def _shape(self, sign: str) -> tuple[str, ...]:
        if sign not in self.shapes:
            raise ValueError(f"{sign!r} has no large letter")
        return self.shapes[sign]


def _quartered(shapes: Sequence[tuple[str, ...]], row: int) -> str:
    """Return two rows of letters as one line, two columns of ink to a cell.

    Every letter begins a cell, so that it looks the same wherever it stands.
    """
    found = ""
    for shape in shapes:
        upper, lower = (ink + " " * (2 - len(ink) % 2) for ink in shape[row : row + 2])
        found += "".join(
            _QUARTERS[upper[i : i + 2] + lower[i : i + 2]] for i in range(0, len(upper), 2)
        )
    return found


def shapes_from(drawn: Sequence[str], rows: int) -> dict[str, tuple[str, ...]]:
    """Read letters, one a line: their signs, then their rows from top to bottom after colons.

    Rows that are left out at the end are blank, and so is the blank itself, two columns wide.
    """
    found = {" ": ("  ",) * rows}
    for line in drawn:
        signs, *inked = line.split(":")
        blank = " " * len(inked[0])
        for sign in signs.strip():
            found[sign] = tuple((inked + [blank] * rows)[:rows])
    return found


def _with_blanks(drawn: str) -> list[str]:
    """Return letters whose blanks are drawn as dots; a sign of its own may be a dot."""
    return [line[:3] + line[3:].replace(".", " ") for line in drawn.splitlines() if line]


# One letter a line: its characters, then its rows from top to bottom, divided by colons. A
# blank is a blank (\x20 where a line ends on one), every other sign is ink. Upright strokes are
# two cells wide, as a cell is half as wide as it is high. What a player must tell apart at two
# metres (B and 8, G and 6, b and d, the ring ° and the struck ring ø) differs in outline, not
# in a corner only.
_TALL = """\
A  : ### :## ##:#####:## ##:## ##
B  :#### :## ##:#### :## ##:####\x20
C  : ####:##   :##   :##   : ####
D  :#### :## ##:## ##:## ##:####\x20
E  :#####:##   :#### :##   :#####
F  :#####:##   :#### :##   :##\x20\x20\x20
G  : ####:##   :## ##:## ##: ####
I  :####: ## : ## : ## :####
L  :##   :##   :##   :##   :#####
M  :##   ##:### ###:#######:## # ##:##   ##
N  :##  ##:### ##:######:## ###:##  ##
P  :#### :## ##:#### :##   :##\x20\x20\x20
T  :######:  ##  :  ##  :  ##  :  ##\x20\x20
a  :     :     : ####:## ##: ####
b♭ :##  :##  :### :## #:###\x20
c  :    :    : ###:##  : ###
d  :   ##:   ##: ####:## ##: ####
e  :     : ### :#####:##   : ####
g  :    : ###:# ##: ###:###\x20
h  :##   :##   :#### :## ##:## ##
i  :##:  :##:##:##
j  :  ##:    :  ##:  ##:###\x20
l  :##:##:##:##:##
m  :       :       :###### :## # ##:## # ##
n  :     :     :#### :## ##:## ##
o  :     :     : ### :## ##: ###\x20
p  :     :#### :## ##:#### :##\x20\x20\x20
r  :    :    :## #:### :##\x20\x20
s  :    : ###:##  :  ##:###\x20
t  : ## :####: ## : ## :  ##
u  :     :     :## ##:## ##: ####
x  :     :     :## ##: ### :## ##
y  :     :## ##: ####:   ##:####\x20
0  : ### :## ##:## ##:## ##: ###\x20
1  : ## :### : ## : ## :####
2  :#### :   ##: ### :##   :#####
3  :#### :   ##: ### :   ##:####\x20
4  :## ##:## ##:#####:   ##:   ##
5  :#####:##   :#### :   ##:####\x20
6  : ### :##   :#### :## ##: ###\x20
7  :#####:   ##:  ## : ##  : ##\x20\x20
8  : ### :## ##: ### :## ##: ###\x20
9  : ### :## ##: ####:   ##: ###\x20
#♯ : # # :#####: # # :#####: # #\x20
𝄫  :#  #  :#  #  :## ## :# ## #:## ##\x20
𝄪  :     :## ##: ### : ### :## ##
°  :####:#  #:####:    :\x20\x20\x20\x20
ø  :    #: ### :# # #: ### :#\x20\x20\x20\x20
(  : ##:## :## :## : ##
)  :## : ##: ##: ##:##\x20
/  :   ##:  ## :  #  : ##  :##\x20\x20\x20
>  :##  : ## :  ##: ## :##\x20\x20
%  :##  #:   # :  #  : #   :#  ##
|  :#:#:#:#:#
+  :     :  #  :#####:  #  :\x20\x20\x20\x20\x20
-  :    :    :####:    :\x20\x20\x20\x20
=  :    :####:    :####:\x20\x20\x20\x20
♩  :    ##:    ##:    ##: #####:#### \x20
.  :  :  :  :  :##
,  :  :  :  :##: #
"""

TALL = Alphabet(shapes_from(_TALL.splitlines(), 5), ink_rows=5, halved=False, apart=2)


# One letter a line: its signs, then its rows from top to bottom, divided by colons; a dot is a
# blank. A cell halved is about as wide as it is high, so strokes are one cell wide. Roots are
# wider than figures, so that B and 8, G and 6, D and 0 differ in outline.
_LOW = """\
A  :.##.:#..#:####:#..#:#..#
B  :###.:#..#:###.:#..#:###.
C  :.###:#...:#...:#...:.###
D  :###.:#..#:#..#:#..#:###.
E  :####:#...:###.:#...:####
F  :####:#...:###.:#...:#...
G  :.###:#...:#.##:#..#:.###
I  :###:.#.:.#.:.#.:###
L  :#...:#...:#...:#...:####
M  :#...#:##.##:#.#.#:#...#:#...#
N  :#..#:##.#:#.##:#..#:#..#
P  :###.:#..#:###.:#...:#...
T  :###:.#.:.#.:.#.:.#.
a  :....:....:.###:#..#:.###
b♭ :#..:#..:##.:#.#:##.
c  :...:...:.##:#..:.##
d  :...#:...#:.###:#..#:.###
e  :...:.#.:###:#..:.##
g  :...:...:.##:#.#:.##:##.
h  :#..:#..:##.:#.#:#.#
i  :#:.:#:#:#
j  :.#:..:.#:.#:.#:#.
l  :#.:#.:#.:#.:.#
m  :.....:.....:####.:#.#.#:#.#.#
n  :...:...:##.:#.#:#.#
o  :...:...:###:#.#:###
p  :...:...:##.:#.#:##.:#..
r  :..:..:##:#.:#.
s  :...:.##:#..:..#:##.
t  :.#.:###:.#.:.#.:..#
u  :...:...:#.#:#.#:.##
x  :...:...:#.#:.#.:#.#
y  :...:...:#.#:#.#:.##:##.
0  :.#.:#.#:#.#:#.#:.#.
1  :.#.:##.:.#.:.#.:###
2  :##.:..#:.#.:#..:###
3  :##.:..#:.#.:..#:##.
4  :#.#:#.#:###:..#:..#
5  :###:#..:##.:..#:##.
6  :.##:#..:###:#.#:###
7  :###:..#:..#:.#.:.#.
8  :###:#.#:###:#.#:###
9  :###:#.#:###:..#:##.
#♯ :.#.#.:#####:.#.#.:#####:.#.#.
𝄫  :#..#..:#..#..:##.##.:#.##.#:##.##.
𝄪  :...:#.#:.#.:#.#
°  :###:#.#:###
ø  :....#:.###.:#.#.#:.###.:#....
(  :.#:#.:#.:#.:#.:.#
)  :#.:.#:.#:.#:.#:#.
/  :..#:..#:.#.:.#.:#..:#..
>  :#..:.#.:..#:.#.:#..
%  :##..#:##.#.:..#..:.#.##:#..##
|  :#:#:#:#:#:#
+  :...:.#.:###:.#.
-  :...:...:###
=  :...:###:...:###
.  :.:.:.:.:#
,  :..:..:..:..:.#:#.
♩  :...#:...#:...#:.###:###.
"""

LOW = Alphabet(shapes_from(_with_blanks(_LOW), 6), ink_rows=6, halved=True, apart=3)
SLIM = Alphabet(LOW.shapes, ink_rows=6, halved=True, apart=2, slim=True)


# One letter a line: its sign, then its rows from top to bottom, divided by colons; a dot is a
# blank. There are only the signs that chord symbols are written with. Roots are taller than
# the letters after them.
_LINED = r"""
A  :._.:/_\:|.|
B  :__.:|_):|_)
C  :._:/.:\_
D  :__.:|.\:|_/
E  :._:|_:|_
F  :__:|-:|.
G  :._.:/._:\_|
I  :___:.|.:_|_
N  :....:|\.|:|.\|
T  :___:.|.:.|.
a  :..:._:(|
b  :|.:|\:|/
c  :..:.-:(_
d  :.|:_|:(|
e  :...:.__:(/_
g  :...:(_|:._)
h  :|.:|_:||
i  :.:':|
j  :..:.':_|
l  :|:|:|
m  :...:___:|||
n  :..:__:||
o  :..:..:()
p  :...:|_):|..
r  :..:._:|.
s  :..:/_:_/
t  :.|.:-|-:.|_
u  :...:...:|_|
0  :._.:/.\:\_/
1  :..:/|:.|
2  :_.:.):/_
3  :_.:_):_)
4  :...:|_|:..|
5  :__:|_:_)
6  :/.:/\:\/
7  :__:./:/.
8  :..:():()
9  :._:(|:.|
#  :_|_|:_|_|:.|.|
(  :/:|:\
)  :\:|:/
/  :../:./.:/..
.  :.:.:_
,  :..:..:./
"""

LINED = Alphabet(shapes_from(_with_blanks(_LINED), 3), ink_rows=3, halved=False, apart=2)
