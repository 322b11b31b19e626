"""The live conversation: sound comes in piece by piece, replies are spoken."""

from fieldvoice.live.address import Address, Way
from fieldvoice.live.gate import Gate
from fieldvoice.live.loop import LiveLoop, News, Quit, Release, Talk, Tick, Touch
from fieldvoice.live.review import ReviewTalk
from fieldvoice.live.scene import Scene, Screen, State
from fieldvoice.live.talk import BookTalk, SaidAt, take_pending
from fieldvoice.live.tape import Tape

__all__ = [
    "Address",
    "BookTalk",
    "Gate",
    "LiveLoop",
    "News",
    "Quit",
    "Release",
    "ReviewTalk",
    "SaidAt",
    "Scene",
    "Screen",
    "State",
    "Talk",
    "Tape",
    "Tick",
    "Touch",
    "Way",
    "take_pending",
]
