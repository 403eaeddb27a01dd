"""Large letters three lines high: two rows of ink share a line, the sixth hangs below.

``SLIM`` draws them half as wide, for charts that find no room otherwise.
"""

from __future__ import annotations

from drillbox.screen.alphabet import Alphabet, shapes_from

# One letter a line: its signs, then its rows from top to bottom, divided by colons; a dot is a
# blank. A cell halved is about as wide as it is high, so strokes are one cell wide. Roots are
# wider than figures, so that B and 8, G and 6, D and 0 differ in outline.
_DRAWN = """\
A  :.##.:#..#:####:#..#:#..#
B  :###.:#..#:###.:#..#:###.
C  :.###:#...:#...:#...:.###
D  :###.:#..#:#..#:#..#:###.
E  :####:#...:###.:#...:####
F  :####:#...:###.:#...:#...
G  :.###:#...:#.##:#..#:.###
I  :###:.#.:.#.:.#.:###
N  :#..#:##.#:#.##:#..#:#..#
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

_LINES = [line[:3] + line[3:].replace(".", " ") for line in _DRAWN.splitlines()]
LOW = Alphabet(shapes_from(_LINES, 6), ink_rows=6, halved=True, apart=3)
SLIM = Alphabet(LOW.shapes, ink_rows=6, halved=True, apart=2, slim=True)
