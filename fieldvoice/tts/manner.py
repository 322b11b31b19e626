"""How loudly and fast the voice may be asked to speak, as multiples of its own."""

#: How much louder or softer each time, and the bounds. A factor of 1.5 is 3.5 dB: heard clearly.
LOUDER = 1.5
SOFTEST, LOUDEST = 0.2, 4.0
#: How much slower or faster each time, and the bounds.
SLOWER = 0.85
SLOWEST, FASTEST = 0.6, 1.6
