"""The live conversation: pieces of sound in; utterances on disk, words, records and replies out."""

from __future__ import annotations

from collections import deque
from concurrent.futures import BrokenExecutor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.asr.microphone import Found, Lost, Piece
from fieldvoice.asr.pauses import OWED_S, TAIL_S
from fieldvoice.asr.stream import Began, Ended, Grew, Paused
from fieldvoice.errors import FieldvoiceError
from fieldvoice.live.habits import Habits
from fieldvoice.live.presenter import ResponsePresenter, is_urgent
from fieldvoice.live.scene import Scene
from fieldvoice.live.wake_policy import WAITS_FOR_ANSWER_S

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from concurrent.futures import Future
    from datetime import datetime

    from fieldvoice.asr import Samples, Span
    from fieldvoice.asr.stream import Event, UtteranceStream
    from fieldvoice.asr.streaming import Attended, Followed, Hearing
    from fieldvoice.dialogue.choices import Value
    from fieldvoice.dialogue.reminders import Reminder
    from fieldvoice.live.echo_gate import EchoGate
    from fieldvoice.live.recorder import Recorder, Recording, Take
    from fieldvoice.live.scene import Screen, State
    from fieldvoice.live.settings import Settle
    from fieldvoice.live.wake_policy import Address
    from fieldvoice.reply import Reply
    from fieldvoice.transcript import Transcript
    from fieldvoice.tts import Sound
    from fieldvoice.tts.speech_output import SpeechOutput

#: The words so far are looked at this often.
FOLLOW_EVERY_S = 0.2
#: The attention word alone is answered after this pause, without waiting for the whole one.
CALL_PAUSE_S = 0.4
#: Kept of what the gate held back, to be heard if somebody spoke over the voice.
HELD_BACK_S = 0.6
#: Recordings are tidied away after so many utterances.
_TIDY_EVERY = 50


@dataclass(frozen=True, slots=True)
class Touch:
    """A key was pressed, or a button that sends one; ``held`` while it is being held down."""

    held: bool = False


@dataclass(frozen=True, slots=True)
class Release:
    """The key that was held down was let go."""


@dataclass(frozen=True, slots=True)
class Tick:
    """Nothing new; time has passed."""


@dataclass(frozen=True, slots=True)
class Quit:
    """The user ends the conversation."""


News = Piece | Lost | Found | Touch | Release | Tick | Quit


class Talk(Protocol):
    """What the live loop needs of the conversation with the book."""

    def hear(self, heard: Transcript, at: datetime, *, sure: bool) -> Reply | None:
        """Return what comes of words said at ``at``.

        None for words that were not surely meant for the assistant (``sure``) and of which nothing
        was understood: they are not written down.
        """
        ...

    def prefetch(self, heard: Transcript) -> None:
        """Prepare for words that will be handed in, if nothing more is said."""
        ...

    def is_unfinished(self, text: str) -> bool:
        """Return whether something must still be said after ``text``: a number, a unit."""
        ...

    def keep(self, heard: Transcript, at: datetime) -> Reply:
        """Keep words said at ``at`` for review: they were cut off."""
        ...

    def played_after(self, reply: Reply) -> Sound | None:
        """Return what is played after the words of ``reply``, to be answered; mostly nothing."""
        ...

    def due(self, now: datetime) -> list[Reminder]:
        """Return what is to be said unasked, each once."""
        ...

    def needed_sounds(self) -> set[str]:
        """Return the names of recordings that are worth keeping: of remarks, and for review."""
        ...


@dataclass(slots=True)
class _Utterance:
    """One being said: when it began, its recording, and whether it needs a call."""

    at: datetime
    take: Take
    sure: bool
    call_needed: bool
    unfollowed: list[Samples] = field(default_factory=list)
    first: bool = True
    following: Future[Followed] | None = None
    called: bool = False
    words: str = ""
    guess: tuple[Span, Future[Attended]] | None = None
    foreseen: bool = False
    cut_off: bool = False


@dataclass(frozen=True, slots=True)
class _Said:
    """One that has ended and whose words are awaited."""

    utterance: _Utterance
    taped: Recording
    duration_s: float
    attended: Future[Attended]


class LiveLoop:
    """Takes news one by one. Nothing here waits: what takes time is a future, looked at later.

    ``settle`` is handed the settings that were changed aloud; ``reads_back`` is one of them.
    """

    def __init__(
        self,
        *,
        talk: Talk,
        hearing: Hearing,
        mouth: SpeechOutput,
        tape: Recorder,
        screen: Screen,
        address: Address,
        stream: UtteranceStream,
        gate: EchoGate,
        clock: Callable[[], datetime],
        wake: Callable[[], None] = lambda: None,
        settle: Settle = lambda _: None,
        reads_back: bool = True,
    ) -> None:
        self._talk, self._hearing, self._mouth, self._tape = talk, hearing, mouth, tape
        self._screen, self._address, self._stream = screen, address, stream
        self._gate, self._clock, self._wake = gate, clock, wake
        self._settle_for_good = settle
        self._manner = ResponsePresenter(mouth, self._keep_settings, reads_back=reads_back)
        self._habits = Habits(address, stream, self._keep_settings)
        self._now_s = 0.0  # of sound
        self._utterance: _Utterance | None = None
        self._said: deque[_Said] = deque()
        self._answers: deque[Reply] = deque()
        self._held_back: deque[Samples] = deque()
        self._was_speaking = False
        self._asked = False
        self._insists = False  # what is being said is not stopped by a voice
        self._deaf = False
        self._level = 0.0
        self._count = 0

    @property
    def busy(self) -> bool:
        """Whether something is being said, heard or answered."""
        pending = self._utterance or self._said or self._answers
        return bool(pending) or self._mouth.speaking

    def handle(self, news: News) -> None:
        """Deal with one piece of news, and with whatever has become ready."""
        match news:
            case Piece(samples):
                self._hear(samples)
            case Touch(held):
                self._touched(held)
            case Release():
                self._let_go()
            case Lost(why):
                self._deaf = True
                if self._utterance is not None:
                    self._utterance.cut_off = self._stream.paused_s < TAIL_S
                self._finish()
                self._screen.aside(f"{why}; looking for it …")
            case Found(name):
                if self._deaf:
                    self._screen.aside(f"The microphone is back: {name}.")
                    self._mouth.sound("listening")
                self._deaf = False
        self._settle()
        self._show()

    def finish(self) -> None:
        """End the utterance under way and wait for what was said; replies are shown, not said."""
        self._finish()
        while self._said:
            self._said[0].attended.result()
            self._settle()

    # --- sound ---------------------------------------------------------------------------------

    def _hear(self, samples: Samples) -> None:
        self._now_s += len(samples) / SAMPLE_RATE
        self._level = float(np.abs(samples).max()) / 32768 if len(samples) else 0.0
        for piece in self._through_the_gate(samples):
            for event in self._stream.feed(piece):
                self._happened(event)

    def _through_the_gate(self, samples: Samples) -> list[Samples]:
        """Return what is listened to: the sound, or silence while the assistant speaks."""
        if not self._mouth.speaking:
            if self._was_speaking:
                self._stopped_speaking()
            return [samples]
        self._was_speaking = True
        self._held_back.append(samples)
        while sum(map(len, self._held_back)) > HELD_BACK_S * SAMPLE_RATE:
            self._held_back.popleft()
        if not self._gate.interrupted(samples, self._mouth.level) or self._insists:
            return [np.zeros_like(samples)]
        self._mouth.stop()
        held_back = list(self._held_back)
        self._stopped_speaking()
        self._address.open(self._now_s)
        return held_back

    def _stopped_speaking(self) -> None:
        self._was_speaking = self._insists = False
        self._held_back.clear()
        self._gate.silent()
        if self._asked:
            self._asked = False
            self._address.open(self._now_s, WAITS_FOR_ANSWER_S)
            self._mouth.sound("listening")

    def _happened(self, event: Event) -> None:
        match event:
            case Began(sound):
                self._begin(sound)
            case Grew(sound):
                self._go_on(sound)
            case Paused(span, sound):
                self._guess(span, sound)
            case Ended(span, sound):
                self._end(span, sound)

    def _begin(self, sound: Samples) -> None:
        if self._address.way == "touch" and not self._address.is_open(self._now_s):
            return
        open_ = self._address.is_open(self._now_s)
        sure = self._address.is_sure(self._now_s)
        at = self._clock()
        take = self._tape.begin(at, overheard=not sure)
        self._utterance = _Utterance(at, take, sure, call_needed=not open_)
        self._go_on(sound)

    def _go_on(self, sound: Samples) -> None:
        utterance = self._utterance
        if utterance is None:
            return
        utterance.take.write(sound)
        if self._stream.paused_s == 0.0 and utterance.guess is not None:
            utterance.guess[1].cancel()  # one that has not begun holds up no other
            utterance.guess, utterance.foreseen = None, False
        self._foresee(utterance)
        utterance.unfollowed.append(sound)
        self._follow(utterance)
        if self._is_a_call_alone(utterance):
            self._finish()

    def _follow(self, utterance: _Utterance) -> None:
        """Look at the words so far, one look at a time."""
        if utterance.following is not None:
            if not utterance.following.done():
                return
            if _is_there(utterance.following):
                followed = utterance.following.result()
                utterance.called, utterance.words = followed.called, followed.words
            utterance.following = None
        if sum(map(len, utterance.unfollowed)) < FOLLOW_EVERY_S * SAMPLE_RATE:
            return
        sound = np.concatenate(utterance.unfollowed)
        utterance.unfollowed.clear()
        utterance.following = self._hearing.follow(
            sound, first=utterance.first, call_needed=utterance.call_needed
        )
        utterance.first = False

    def _guess(self, span: Span, sound: Samples) -> None:
        """Begin to search for the words in the pause that may be the end."""
        if self._utterance is not None:
            self._utterance.guess = (span, self._attend(self._utterance, sound))
            self._be_patient(self._utterance.words)

    def _foresee(self, utterance: _Utterance) -> None:
        """Read the words heard in the pause, while it may still turn out to be the end."""
        guess = utterance.guess
        if guess is None or utterance.foreseen or not _is_there(guess[1]):
            return
        utterance.foreseen = True
        heard = guess[1].result().heard
        if heard is not None and heard.text:
            self._talk.prefetch(heard)
            self._be_patient(heard.text)

    def _be_patient(self, words: str) -> None:
        """Wait longer for the end where the words so far are no sentence, and may become one."""
        unfinished = bool(words) and self._talk.is_unfinished(words)
        self._stream.owed_s = OWED_S if unfinished else 0.0

    def _is_a_call_alone(self, utterance: _Utterance) -> bool:
        if utterance.guess is None or self._stream.paused_s < CALL_PAUSE_S:
            return False
        if not _is_there(utterance.guess[1]):
            return False
        result = utterance.guess[1].result()
        return result.called and result.heard is None

    def _end(self, span: Span, sound: Samples) -> None:
        utterance, self._utterance = self._utterance, None
        if utterance is None:
            return
        taped = utterance.take.finish()
        guess = utterance.guess
        if guess is not None and guess[0] == span:
            attended = guess[1]
        else:
            attended = self._attend(utterance, sound)
        self._said.append(_Said(utterance, taped, len(sound) / SAMPLE_RATE, attended))

    def _attend(self, utterance: _Utterance, sound: Samples) -> Future[Attended]:
        attended = self._hearing.attend(sound, call_needed=utterance.call_needed)
        attended.add_done_callback(lambda _: self._wake())
        return attended

    def _finish(self) -> None:
        """End the utterance under way at once."""
        for event in self._stream.finish():
            self._happened(event)

    # --- touch ---------------------------------------------------------------------------------

    def _touched(self, held: bool) -> None:
        self._mouth.stop()
        if self._address.is_touched(self._now_s) and not held:
            self._let_go()
            return
        self._address.touch(self._now_s)
        if self._utterance is not None:
            # Whoever speaks and presses the key meanwhile means what is being said.
            self._utterance.sure, self._utterance.call_needed = True, False
            self._utterance.guess = None
        else:
            self._mouth.sound("listening")

    def _let_go(self) -> None:
        self._address.close()
        self._finish()

    # --- words ---------------------------------------------------------------------------------

    def _settle(self) -> None:
        """Deal with the utterances whose words are there, in the order in which they were said."""
        while self._said and self._said[0].attended.done():
            said = self._said.popleft()
            try:
                self._deal_with(said)
            except (FieldvoiceError, BrokenExecutor) as fault:
                # Its sound is on the disk, and the next start takes it up.
                self._mouth.sound("say_again")
                self._screen.aside(f"{fault} What was said is kept as sound.")
        while self._answers and (is_urgent(self._answers[0]) or not self._is_addressed_now()):
            self._answer(self._answers.popleft())
        if not self.busy:
            for reminder in self._talk.due(self._clock()):
                self._mouth.sound("timer" if reminder.asked_for else "careful")
                self._mouth.say(reminder.spoken)
                self._screen.aside(reminder.text)

    def _is_addressed_now(self) -> bool:
        """Whether somebody is speaking to the assistant: it lets people finish."""
        utterance = self._utterance
        return utterance is not None and (utterance.called or not utterance.call_needed)

    def _deal_with(self, said: _Said) -> None:
        attended = said.attended.result()
        sure = said.utterance.sure or attended.called
        if attended.heard is None:
            self._tape.discard(said.taped)
            if attended.called:
                self._address.open(self._now_s)
                self._mouth.sound("listening")
            return
        taped = self._tape.meant(said.taped) if sure else said.taped
        placed = replace(attended.heard, audio=taped.span(said.duration_s))
        if said.utterance.cut_off:
            reply: Reply | None = self._talk.keep(placed, taped.at)
        else:
            reply = self._reply(placed, taped.at, sure=sure)
        if reply is None:
            self._tape.pass_over(taped)
            return
        if self._address.way == "word":
            self._address.close()
        self._screen.reply(reply)
        if is_urgent(reply):
            self._mouth.stop()
            self._answers.appendleft(reply)
        else:
            self._answers.append(reply)
        self._count += 1
        if self._count % _TIDY_EVERY == 0:
            self._tape.make_room(self._talk.needed_sounds())

    def _reply(self, heard: Transcript, at: datetime, *, sure: bool) -> Reply | None:
        if not heard.text:
            if sure:
                self._mouth.sound("say_again")
            return None
        return self._talk.hear(heard, at, sure=sure)

    def _answer(self, reply: Reply) -> None:
        self._manner.answer(reply)
        self._insists = is_urgent(reply) and self._mouth.speaking
        self._habits.heed(reply)
        played = self._talk.played_after(reply)
        if played is not None:
            self._mouth.play(played)
        self._asked = reply.outcome == "asked" or played is not None
        self._asked |= is_urgent(reply) and reply.pending is not None
        if self._asked and not self._mouth.speaking:
            self._stopped_speaking()

    def _keep_settings(self, changed: Mapping[str, Value]) -> None:
        try:
            self._settle_for_good(changed)
        except FieldvoiceError as fault:
            self._screen.aside(f"{fault} It holds until the program ends.")

    # --- screen --------------------------------------------------------------------------------

    def _show(self) -> None:
        words = self._utterance.words if self._utterance is not None else ""
        self._screen.scene(Scene(self._state(), words, self._level))

    def _state(self) -> State:
        if self._deaf:
            return "deaf"
        if self._mouth.speaking:
            return "speaking"
        if self._is_addressed_now():
            return "hearing"
        if self._said:
            return "thinking"
        return "listening" if self._address.is_open(self._now_s) else "waiting"


def _is_there(awaited: Future[Any]) -> bool:
    """Whether a result has come; an ear that broke down is told of when the utterance ends."""
    return awaited.done() and awaited.exception() is None
