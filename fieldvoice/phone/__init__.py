"""The phone in the pocket: one page for phones on the farm's own network, and what serves it.

``authority.py`` makes the certificates, ``pairing.py`` knows the phones, ``inbox.py`` keeps what
they send until it is in the book, ``house.py`` takes it the way that all speech goes, in a process
of its own (``workers.py``); ``app.py`` is what phones may ask for, ``server.py`` the network.
"""
