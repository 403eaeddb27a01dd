"""Large letters drawn with lines, three lines high, for charts that find no room otherwise.

They stand in for the slim ones where a terminal has ASCII alone.
"""

from __future__ import annotations

from drillbox.screen.alphabet import Alphabet, shapes_from

# One letter a line: its sign, then its rows from top to bottom, divided by colons; a dot is a
# blank. There are only the signs that chord symbols are written with. Roots are taller than
# the letters after them.
_DRAWN = r"""
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

_LINES = [line[:3] + line[3:].replace(".", " ") for line in _DRAWN.split("\n") if line]
LINED = Alphabet(shapes_from(_LINES, 3), ink_rows=3, halved=False, apart=2)
