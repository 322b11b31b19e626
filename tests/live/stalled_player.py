"""Plays a hum while the whole interpreter stands still now and then, as on a busy small board.

Run as a program by the test of the virtual microphone, with its sound server.
"""

from __future__ import annotations

import ctypes
import time

import numpy as np

from fieldvoice.soundcard import all_devices, sound_system
from fieldvoice.tts import Sound
from fieldvoice.tts.player import DevicePlayer

RATE = 22050
STALL_S, STALLS, BETWEEN_S = 0.15, 4, 1.0
#: How long it hums after the first stall.
HUM_S = STALLS * BETWEEN_S


def main() -> None:
    system = sound_system()
    # Devices listed twice, as the sound check does: what the first has set must not be lost by it.
    all_devices()
    player = DevicePlayer(system)
    # Called this way, the C library's sleep keeps every other thread of Python waiting.
    stand_still = ctypes.PyDLL(None).usleep
    time.sleep(BETWEEN_S)
    hum = 0.3 * np.sin(2 * np.pi * 300 * np.arange(int(HUM_S * RATE)) / RATE)
    stand_still(round(STALL_S * 1e6))
    player.play(Sound((hum * 32767).astype(np.int16), RATE), words=True)
    for _ in range(STALLS):
        time.sleep(BETWEEN_S)
        stand_still(round(STALL_S * 1e6))
    time.sleep(2 * BETWEEN_S)
    player.close()


if __name__ == "__main__":
    main()
