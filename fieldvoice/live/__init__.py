"""The live conversation: sound comes in piece by piece, replies are spoken.

What stands here is imported when it is first asked for: who wants a bound or a setting alone needs
none of the libraries for sound.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

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

_HOMES = {
    "dialogue_port": "BookDialogue SaidAt take_pending",
    "echo_gate": "EchoGate",
    "loop": "LiveLoop News Quit Release Talk Tick Touch",
    "recorder": "Recorder",
    "review": "ReviewTalk",
    "scene": "Scene Screen State",
    "settings": "LiveSettings",
    "wake_policy": "Address Way",
}


def __getattr__(name: str) -> Any:
    for module, names in _HOMES.items():
        if name in names.split():
            return getattr(import_module(f"{__name__}.{module}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
