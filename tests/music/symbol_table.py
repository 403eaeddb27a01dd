"""Chord symbols with their MusicXML kind, degrees and tones, worked by hand.

One row a symbol: what is typed | kind | degrees (action, number, alter) | tones, root or
slash bass first. The tones follow the kind definitions and degree rules of the W3C MusicXML
4.0 schema (kind-value, degree-alter): C13 has its eleventh, an added 7 is minor.
"""

TABLE = """
C | major | | C E G
Db | major | | Db F Ab
F# | major | | F# A# C#
Cm | minor | | C Eb G
G#m | minor | | G# B D#
Ebm | minor | | Eb Gb Bb
Caug | augmented | | C E G#
Ab+ | augmented | | Ab C E
F+ | augmented | | F A C#
Cdim | diminished | | C Eb Gb
Bdim | diminished | | B D F
Eb° | diminished | | Eb Gb Bbb
C5 | power | | C G
Bb5 | power | | Bb F
Csus4 | suspended-fourth | | C F G
Bbsus | suspended-fourth | | Bb Eb F
Csus2 | suspended-second | | C D G
Esus2 | suspended-second | | E F# B
C6 | major-sixth | | C E G A
Eb6 | major-sixth | | Eb G Bb C
Cm6 | minor-sixth | | C Eb G A
F#m6 | minor-sixth | | F# A C# D#
C69 | major-sixth | add 9 0 | C E G A D
Ab6/9 | major-sixth | add 9 0 | Ab C Eb F Bb
Cm69 | minor-sixth | add 9 0 | C Eb G A D
Gm6/9 | minor-sixth | add 9 0 | G Bb D E A
C7 | dominant | | C E G Bb
F7 | dominant | | F A C Eb
B7 | dominant | | B D# F# A
Gb7 | dominant | | Gb Bb Db Fb
C#7 | dominant | | C# E# G# B
Cmaj7 | major-seventh | | C E G B
Abmaj7 | major-seventh | | Ab C Eb G
F#maj7 | major-seventh | | F# A# C# E#
Cm7 | minor-seventh | | C Eb G Bb
Dm7 | minor-seventh | | D F A C
Abm7 | minor-seventh | | Ab Cb Eb Gb
C#m7 | minor-seventh | | C# E G# B
Cdim7 | diminished-seventh | | C Eb Gb Bbb
Bdim7 | diminished-seventh | | B D F Ab
F#dim7 | diminished-seventh | | F# A C Eb
C7#5 | augmented-seventh | | C E G# Bb
G+7 | augmented-seventh | | G B D# F
Cm7b5 | half-diminished | | C Eb Gb Bb
Bø | half-diminished | | B D F A
F#ø7 | half-diminished | | F# A C E
Ebm7b5 | half-diminished | | Eb Gb Bbb Db
Cm(maj7) | major-minor | | C Eb G B
Am(maj7) | major-minor | | A C E G#
Dm(maj7) | major-minor | | D F A C#
C9 | dominant-ninth | | C E G Bb D
A9 | dominant-ninth | | A C# E G B
Cmaj9 | major-ninth | | C E G B D
Dbmaj9 | major-ninth | | Db F Ab C Eb
Cm9 | minor-ninth | | C Eb G Bb D
Em9 | minor-ninth | | E G B D F#
C11 | suspended-fourth | add 7 0, add 9 0 | C F G Bb D
Cmaj11 | major-11th | | C E G B D F
Cm11 | minor-11th | | C Eb G Bb D F
Fm11 | minor-11th | | F Ab C Eb G Bb
C13 | dominant-13th | | C E G Bb D F A
Bb13 | dominant-13th | | Bb D F Ab C Eb G
Cmaj13 | major-13th | | C E G B D F A
Cm13 | minor-13th | | C Eb G Bb D F A
C7b5 | dominant | alter 5 -1 | C E Gb Bb
D7b5 | dominant | alter 5 -1 | D F# Ab C
C7b9 | dominant | add 9 -1 | C E G Bb Db
A7b9 | dominant | add 9 -1 | A C# E G Bb
E7b9 | dominant | add 9 -1 | E G# B D F
C7#9 | dominant | add 9 1 | C E G Bb D#
E7#9 | dominant | add 9 1 | E G# B D F##
C7#11 | dominant | add 11 1 | C E G Bb F#
Db7#11 | dominant | add 11 1 | Db F Ab Cb G
C7b13 | dominant | add 13 -1 | C E G Bb Ab
D7b13 | dominant | add 13 -1 | D F# A C Bb
C7b9b13 | dominant | add 9 -1, add 13 -1 | C E G Bb Db Ab
B7b9b13 | dominant | add 9 -1, add 13 -1 | B D# F# A C G
C7#9b13 | dominant | add 9 1, add 13 -1 | C E G Bb D# Ab
C7b9#9 | dominant | add 9 -1, add 9 1 | C E G Bb Db D#
C7b9#11 | dominant | add 9 -1, add 11 1 | C E G Bb Db F#
C7#9#11 | dominant | add 9 1, add 11 1 | C E G Bb D# F#
C7b9#11b13 | dominant | add 9 -1, add 11 1, add 13 -1 | C E G Bb Db F# Ab
C7b5b9 | dominant | alter 5 -1, add 9 -1 | C E Gb Bb Db
C7b5#9 | dominant | alter 5 -1, add 9 1 | C E Gb Bb D#
C7#5b9 | augmented-seventh | add 9 -1 | C E G# Bb Db
G7#5b9 | augmented-seventh | add 9 -1 | G B D# F Ab
C7#5#9 | augmented-seventh | add 9 1 | C E G# Bb D#
C7#5#11 | augmented-seventh | add 11 1 | C E G# Bb F#
C7alt | dominant | alter 5 -1, add 5 1, add 9 -1, add 9 1 | C E Gb G# Bb Db D#
Galt | dominant | alter 5 -1, add 5 1, add 9 -1, add 9 1 | G B Db D# F Ab A#
C7(13) | dominant | add 13 0 | C E G Bb A
C7b9(13) | dominant | add 9 -1, add 13 0 | C E G Bb Db A
C9#11 | dominant-ninth | add 11 1 | C E G Bb D F#
Eb9#11 | dominant-ninth | add 11 1 | Eb G Bb Db F A
C9b5 | dominant-ninth | alter 5 -1 | C E Gb Bb D
C9#5 | dominant-ninth | alter 5 1 | C E G# Bb D
Caug9 | dominant-ninth | alter 5 1 | C E G# Bb D
C9b13 | dominant-ninth | add 13 -1 | C E G Bb D Ab
C9(13) | dominant-ninth | add 13 0 | C E G Bb D A
C11b9 | suspended-fourth | add 7 0, add 9 -1 | C F G Bb Db
C13b9 | dominant-13th | alter 9 -1 | C E G Bb Db F A
F13b9 | dominant-13th | alter 9 -1 | F A C Eb Gb Bb D
C13#9 | dominant-13th | alter 9 1 | C E G Bb D# F A
C13#11 | dominant-13th | alter 11 1 | C E G Bb D F# A
Ab13#11 | dominant-13th | alter 11 1 | Ab C Eb Gb Bb D F
C13b5 | dominant-13th | alter 5 -1 | C E Gb Bb D F A
C13#5 | dominant-13th | alter 5 1 | C E G# Bb D F A
C13b9#11 | dominant-13th | alter 9 -1, alter 11 1 | C E G Bb Db F# A
C13#9#11 | dominant-13th | alter 9 1, alter 11 1 | C E G Bb D# F# A
Cmaj7#11 | major-seventh | add 11 1 | C E G B F#
Fmaj7#11 | major-seventh | add 11 1 | F A C E B
Cmaj7#5 | major-seventh | alter 5 1 | C E G# B
Ebmaj7#5 | major-seventh | alter 5 1 | Eb G B D
C+(maj7) | major-seventh | alter 5 1 | C E G# B
Cmaj7b5 | major-seventh | alter 5 -1 | C E Gb B
Cmaj7#5#11 | major-seventh | alter 5 1, add 11 1 | C E G# B F#
Cmaj7#9 | major-seventh | add 9 1 | C E G B D#
Cmaj7(13) | major-seventh | add 13 0 | C E G B A
Cmaj7#9#11 | major-seventh | add 9 1, add 11 1 | C E G B D# F#
Cmaj9#11 | major-ninth | add 11 1 | C E G B D F#
Bbmaj9#11 | major-ninth | add 11 1 | Bb D F A C E
Cmaj9#5 | major-ninth | alter 5 1 | C E G# B D
Cmaj13#11 | major-13th | alter 11 1 | C E G B D F# A
Gmaj13#11 | major-13th | alter 11 1 | G B D F# A C# E
C6#11 | major-sixth | add 11 1 | C E G A F#
C69#11 | major-sixth | add 9 0, add 11 1 | C E G A D F#
C6b5 | major-sixth | alter 5 -1 | C E Gb A
Cm7#5 | minor-seventh | alter 5 1 | C Eb G# Bb
Cm7(9,11) | minor-11th | | C Eb G Bb D F
Cm7(11) | minor-seventh | add 11 0 | C Eb G Bb F
Cm7b9 | minor-seventh | add 9 -1 | C Eb G Bb Db
Cm7b13 | minor-seventh | add 13 -1 | C Eb G Bb Ab
Cm9#11 | minor-ninth | add 11 1 | C Eb G Bb D F#
Cm9b5 | minor-ninth | alter 5 -1 | C Eb Gb Bb D
Dø9 | minor-ninth | alter 5 -1 | D F Ab C E
Cm11b5 | minor-11th | alter 5 -1 | C Eb Gb Bb D F
Aø11 | minor-11th | alter 5 -1 | A C Eb G B D
Cm13b9 | minor-13th | alter 9 -1 | C Eb G Bb Db F A
Cm7b5b9 | half-diminished | add 9 -1 | C Eb Gb Bb Db
Cm7b5(11) | half-diminished | add 11 0 | C Eb Gb Bb F
Cm7b5b13 | half-diminished | add 13 -1 | C Eb Gb Bb Ab
Cm(maj9) | major-minor | add 9 0 | C Eb G B D
Cm(maj11) | major-minor | add 9 0, add 11 0 | C Eb G B D F
Cm(maj7)(13) | major-minor | add 13 0 | C Eb G B A
Cm(maj7)#11 | major-minor | add 11 1 | C Eb G B F#
Cdim(maj7) | diminished | add 7 1 | C Eb Gb B
Cdim7(9) | diminished-seventh | add 9 0 | C Eb Gb Bbb D
Gdim7b13 | diminished-seventh | add 13 -1 | G Bb Db Fb Eb
C7sus4 | suspended-fourth | add 7 0 | C F G Bb
A7sus | suspended-fourth | add 7 0 | A D E G
C9sus4 | suspended-fourth | add 7 0, add 9 0 | C F G Bb D
D9sus | suspended-fourth | add 7 0, add 9 0 | D G A C E
C13sus | suspended-fourth | add 7 0, add 9 0, add 13 0 | C F G Bb D A
Eb13sus4 | suspended-fourth | add 7 0, add 9 0, add 13 0 | Eb Ab Bb Db F C
C7susb9 | suspended-fourth | add 7 0, add 9 -1 | C F G Bb Db
A7susb9 | suspended-fourth | add 7 0, add 9 -1 | A D E G Bb
C13susb9 | suspended-fourth | add 7 0, add 9 -1, add 13 0 | C F G Bb Db A
C7sus4b13 | suspended-fourth | add 7 0, add 13 -1 | C F G Bb Ab
C7sus2 | suspended-second | add 7 0 | C D G Bb
Cmaj7sus4 | suspended-fourth | add 7 1 | C F G B
Cmaj9sus4 | suspended-fourth | add 7 1, add 9 0 | C F G B D
C6sus4 | suspended-fourth | add 6 0 | C F G A
Csus4(add9) | suspended-fourth | add 9 0 | C F G D
Cadd9 | major | add 9 0 | C E G D
Gbadd9 | major | add 9 0 | Gb Bb Db Ab
Cm(add9) | minor | add 9 0 | C Eb G D
Cadd11 | major | add 11 0 | C E G F
Cadd#11 | major | add 11 1 | C E G F#
Cadd2 | major | add 2 0 | C D E G
Cadd4 | major | add 4 0 | C E F G
Cm(addb6) | minor | add 6 -1 | C Eb G Ab
C5(add9) | power | add 9 0 | C G D
C(b5) | major | alter 5 -1 | C E Gb
Ab(b5) | major | alter 5 -1 | Ab C Ebb
Cm(#5) | minor | alter 5 1 | C Eb G#
Cno3 | power | | C G
C(no5) | major | subtract 5 0 | C E
Cm(no5) | minor | subtract 5 0 | C Eb
C7no3 | dominant | subtract 3 0 | C G Bb
C7no5 | dominant | subtract 5 0 | C E Bb
C9no3 | dominant-ninth | subtract 3 0 | C G Bb D
C13(no11) | dominant-ninth | add 13 0 | C E G Bb D A
C7(omit1) | dominant | subtract 1 0 | E G Bb
C7(add6) | dominant | add 6 0 | C E G A Bb
C9(add#9) | dominant-ninth | add 9 1 | C E G Bb D D#
C7(addmaj7) | dominant | add 7 1 | C E G Bb B
C/E | major | | E C G
C/D | major | | D C E G
Dm7/G | minor-seventh | | G D F A C
F#m7b5/E | half-diminished | | E F# A C
Cmaj7/F# | major-seventh | | F# C E G B
C69/E | major-sixth | add 9 0 | E C G A D
Bb/C | major | | C Bb D F
Ab7/Gb | dominant | | Gb Ab C Eb
Ebdim7/D | diminished-seventh | | D Eb Gb Bbb Dbb
C7#9/E | dominant | add 9 1 | E C G Bb D#
Bbb7 | dominant | | Bbb Db Fb Abb
Fx7 | dominant | | F## A## C## E#
Cbmaj7 | major-seventh | | Cb Eb Gb Bb
E#m7 | minor-seventh | | E# G# B# D#
"""

Row = tuple[str, str, tuple[tuple[str, int, int], ...], tuple[str, ...]]


def rows() -> list[Row]:
    """Return every row as (symbol, kind, degrees, tones)."""
    found = []
    for line in TABLE.strip().splitlines():
        symbol, kind, degrees, tones = (part.strip() for part in line.split("|"))
        parsed = tuple(
            (action, int(number), int(alter))
            for action, number, alter in (one.split() for one in degrees.split(",") if one.strip())
        )
        found.append((symbol, kind, parsed, tuple(tones.split())))
    return found
