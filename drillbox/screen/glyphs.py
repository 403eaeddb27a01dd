"""Large letters for chord symbols, five rows high: the project's own shapes."""

from __future__ import annotations

from collections.abc import Iterable

ROWS = 5
GAP = " "

# One glyph a line: its characters, then its rows from top to bottom, divided by colons. A
# blank is a blank (\x20 where a line ends on one), every other sign is ink. Upright strokes are
# two cells wide, as a cell is half as wide as it is high. What a player must tell apart at two
# metres (B and 8, G and 6, b and d, the ring ° and the struck ring ø) differs in outline, not
# in a corner only.
_DRAWN = """\
A  : ### :## ##:#####:## ##:## ##
B  :#### :## ##:#### :## ##:####\x20
C  : ####:##   :##   :##   : ####
D  :#### :## ##:## ##:## ##:####\x20
E  :#####:##   :#### :##   :#####
F  :#####:##   :#### :##   :##\x20\x20\x20
G  : ####:##   :## ##:## ##: ####
I  :####: ## : ## : ## :####
N  :##  ##:### ##:######:## ###:##  ##
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
.  :  :  :  :  :##
,  :  :  :  :##: #
"""


def _read(drawn: str) -> dict[str, tuple[str, ...]]:
    glyphs = {}
    for line in drawn.splitlines():
        signs, *rows = line.split(":")
        for sign in signs.strip():
            glyphs[sign] = tuple(rows)
    return glyphs


GLYPHS = {**_read(_DRAWN), " ": ("  ",) * ROWS}
"""Each character's rows; all rows of one glyph are equally wide, ink is ``#``."""


def big(text: str, *, ascii: bool) -> list[str]:
    """Return ``text`` as five rows of equal width, in blocks or in ``#`` signs.

    Letters b and the flat sign have one shape, as players write them. Raises ValueError for a
    character without a glyph: a symbol with a part missing would be a wrong symbol.
    """
    shapes = [_glyph(sign) for sign in text]
    rows = [GAP.join(shape[row] for shape in shapes) for row in range(ROWS)]
    return rows if ascii else [row.replace("#", "█") for row in rows]


def big_width(text: str) -> int:
    """Return how many columns ``big`` needs for ``text``; raises as it does."""
    return _joined(len(_glyph(sign)[0]) for sign in text)


def _joined(widths: Iterable[int]) -> int:
    listed = list(widths)
    return sum(listed) + len(GAP) * max(0, len(listed) - 1)


def _glyph(sign: str) -> tuple[str, ...]:
    if sign not in GLYPHS:
        raise ValueError(f"{sign!r} has no large letter")
    return GLYPHS[sign]
