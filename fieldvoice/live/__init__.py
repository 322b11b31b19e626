"""The live conversation: sound comes in piece by piece, replies are spoken.

What stands here is imported when it is first asked for: who wants a bound or a setting alone needs
none of the libraries for sound.
"""

from typing import TYPE_CHECKING

from fieldvoice.lazily import lazily

if TYPE_CHECKING:
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

__getattr__ = lazily(
    __name__,
    {
        "dialogue_port": "BookDialogue SaidAt take_pending",
        "echo_gate": "EchoGate",
        "loop": "LiveLoop News Quit Release Talk Tick Touch",
        "recorder": "Recorder",
        "review": "ReviewTalk",
        "scene": "Scene Screen State",
        "settings": "LiveSettings",
        "wake_policy": "Address Way",
    },
)
