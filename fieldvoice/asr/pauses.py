"""How long the silences are that end what is said, in seconds; settings tell them too."""

#: The pause that people leave between notes; one within a note ("tree twelve … half full") is
#: shorter.
PAUSE_S = 0.8
#: And what it may be set to: shorter cuts people off, longer keeps them waiting.
SHORTEST_PAUSE_S, LONGEST_PAUSE_S = 0.4, 3.0
#: Where a number or a unit is still owed ("collected two and a half … gallons") people think for
#: longer: by so much more.
OWED_S = 0.9
#: Kept before the first and after the last sure frame: the first consonant is quieter than that.
LEAD_S = 0.3
#: Live, the search begins when that much silence is there. Of 180 recordings (voices and people, in
#: quiet and in wind at 10 dB) 174 are heard word for word as with 0.3, and 144 rightly instead of
#: 145.
TAIL_S = 0.2
