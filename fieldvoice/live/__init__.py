"""The live conversation: sound comes in piece by piece, replies are spoken."""

from fieldvoice.live.dialogue_port import BookDialogue, SaidAt, take_pending
from fieldvoice.live.echo_gate import EchoGate
from fieldvoice.live.loop import LiveLoop, News, Quit, Release, Talk, Tick, Touch
from fieldvoice.live.recorder import Recorder
from fieldvoice.live.review import ReviewTalk
from fieldvoice.live.scene import Scene, Screen, State
from fieldvoice.live.settings import LiveSettings
from fieldvoice.live.wake_policy import Address, Way

__all__ = [
    "Address",
    "BookDialogue",
    "EchoGate",
    "LiveLoop",
    "LiveSettings",
    "News",
    "Quit",
    "Recorder",
    "Release",
    "ReviewTalk",
    "SaidAt",
    "Scene",
    "Screen",
    "State",
    "Talk",
    "Tick",
    "Touch",
    "Way",
    "take_pending",
]
