"""What phones may ask for: notes that come in once and in order, clocks, and who said it."""

from __future__ import annotations

import threading
import time
from datetime import datetime, timedelta

import pytest

from tests.asr.conftest import write_audio
from tests.phone.served import Phone, Served, new_number, speech


def test_a_note_comes_in_with_who_said_it(served):
    anna = served.phone("Anna")
    status, receipt = anna.say("tree nine two gallons")
    assert status == 200
    assert [one["reply"] for one in receipt["said"]] == ["Tree 9: 2 gal."]
    rows = served.rows("SELECT source, said_by, conversation, outcome FROM utterances")
    assert [row[:2] for row in rows] == [("phone", "Anna")]
    assert rows[0][2].startswith("phone ")
    assert rows[0][3] == "saved"


def test_who_was_there_can_be_asked(served):
    """By another phone, and aloud."""
    anna, ben = served.phone("Anna"), served.phone("Ben")
    anna.say("tree nine half full")
    for asked in ("who was at tree nine last", "who last checked tree nine"):
        reply = ben.say(asked)[1]["said"][0]["reply"]
        assert reply.startswith("Tree 9 was never emptied, as far as the book goes; last seen")
        assert reply.endswith("half full, by Anna.")
    assert ben.say("who said that")[1]["said"][0]["reply"].endswith(
        "The newest of tree 9 is from Anna."
    )


def test_a_note_sent_again_is_taken_once(served):
    """Also by a house that was started anew, which has only the book to go by."""
    anna, number = served.phone(), new_number()
    first = anna.say("tree nine two gallons", number)
    assert anna.say("tree nine two gallons", number) == first
    served.post._receipts.clear()
    status, again = anna.say("tree nine two gallons", number)
    assert (status, again["said"]) == (200, first[1]["said"])
    assert served.said() == ["tree nine two gallons"]


def test_the_same_words_said_twice_are_two_notes(served):
    anna = served.phone()
    anna.say("tree nine two gallons")
    anna.say("tree nine two gallons")
    assert len(served.said()) == 2


@pytest.mark.parametrize("when", ["before", "after"])
def test_a_note_that_the_house_died_over_is_taken_once(served, when):
    """Whether the book had it already or not."""
    anna, number = served.phone(), new_number()
    setattr(served.house, f"fails_{when}", 1)
    assert anna.say("tree nine two gallons", number)[0] == 503
    status, receipt = anna.say("tree nine two gallons", number)
    assert (status, len(receipt["said"])) == (200, 1)
    assert served.said() == ["tree nine two gallons"]


def test_what_came_in_before_the_house_died_is_taken_at_the_next_start(tmp_path):
    """In its order, though the phones never come back."""
    with Served(tmp_path).running() as served:
        anna = served.phone()
        served.house.fails_before = 3
        for number in (1, 2, 3):
            assert anna.say(f"tree {number} two gallons", new_number())[0] == 503
        assert served.said() == []
    with Served(tmp_path).running() as again:
        assert again.left == 3
        _until(lambda: len(again.said()) == 3)
        assert again.said() == [f"tree {number} two gallons" for number in (1, 2, 3)]
    assert not list((tmp_path / "season_phone" / "inbox").iterdir())


def test_a_note_that_is_sent_twice_at_once_is_taken_once(served):
    """A phone that lost patience asks again while the house is still at it."""
    anna, number = served.phone(), new_number()
    served.house.takes_s = 0.5
    answers = []
    threads = [
        threading.Thread(target=lambda: answers.append(anna.say("tree nine empty", number)))
        for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [status for status, _ in answers] == [200] * 4
    assert len(served.said()) == 1


def test_nobody_answers_a_question_that_was_not_heard(served):
    """What was said in the woods meanwhile is a note of its own; heard, it is the answer."""
    anna = served.phone()
    assert anna.say("tree nine no")[1]["said"][0]["outcome"] in ("asked", "kept")
    anna.say("tree two hundred two gallons")
    asked = anna.say("measured tree nine four hundred inches across")[1]["said"][0]
    assert asked["question"] == "yes_no"
    unheard = anna.say("yes", Note_Unheard="1")[1]["said"][0]
    assert unheard["outcome"] != "saved"
    anna.say("measured tree nine four hundred inches across")
    assert anna.say("yes")[1]["said"][0]["outcome"] == "saved"


def test_each_phone_has_a_conversation_of_its_own(served):
    """What is in hand, and what undo takes back, is of the one who speaks."""
    anna, ben = served.phone("Anna"), served.phone("Ben")
    anna.say("tree nine two gallons")
    ben.say("tree four half full")
    assert anna.say("undo")[1]["said"][0]["reply"].startswith("Took back: Tree 9:")
    live = served.rows("SELECT fields FROM live_entries")
    assert len(live) == 1
    assert '"tree": 4' in live[0][0]


class TestClocks:
    def test_a_clock_a_little_off_is_put_right_unasked(self, served):
        anna = served.phone()
        anna.offset = timedelta(seconds=40)
        assert anna.say("tree nine empty")[0] == 200
        assert abs(_at(served) - datetime.now().astimezone()) < timedelta(seconds=10)

    @pytest.mark.parametrize(("choice", "hours"), [("house", 0), ("phone", -3)])
    def test_a_clock_far_off_is_asked_about(self, served, choice, hours):
        anna = served.phone()
        anna.offset = timedelta(hours=-3)
        status, told = anna.say("tree nine empty")
        assert (status, told["ask"], round(told["offset_s"] / 3600)) == (409, "clock", 3)
        assert served.said() == []
        assert anna.say("tree nine empty", Clock_Choice=choice)[0] == 200
        off = _at(served) - datetime.now().astimezone()
        assert abs(off - timedelta(hours=hours)) < timedelta(seconds=10)

    def test_a_note_is_of_when_it_was_said(self, served):
        """By the phone's clock then, put right by what it is off now."""
        anna = served.phone()
        anna.offset = timedelta(seconds=-50)
        said_at = datetime.now().astimezone() - timedelta(hours=2)
        by_phone = (said_at + anna.offset).isoformat()
        assert anna.say("tree nine empty", Note_At=by_phone)[0] == 200
        assert abs(_at(served) - said_at) < timedelta(seconds=5)

    @pytest.mark.parametrize(
        "bad", ["", "soon", "2027-03-05T09:10:00", "0001-01-01T00:00:00+00:00"]
    )
    def test_no_time_is_no_note(self, served, bad):
        assert served.phone().say("tree nine empty", Note_At=bad)[0] == 400


class TestSound:
    @pytest.mark.parametrize("ending", [".webm", ".m4a", ".ogg", ".wav"])
    def test_the_browsers_own_formats_are_heard(self, served, tmp_path, ending):
        sound = write_audio(tmp_path / f"sent{ending}", speech()).read_bytes()
        status, receipt = served.phone().send(sound, "application/octet-stream")
        assert status == 200
        assert receipt["said"][0]["reply"] == "Tree 9: 2 gal."
        kept = list((tmp_path / "season_sound" / "phone").iterdir())
        assert [one.suffix for one in kept] == [ending]
        assert kept[0].stat().st_mode & 0o077 == 0

    def test_a_recording_sent_again_is_taken_once(self, served, tmp_path):
        anna, number = served.phone(), new_number()
        sound = write_audio(tmp_path / "sent.webm", speech()).read_bytes()
        first = anna.send(sound, number=number)
        served.post._receipts.clear()
        assert anna.send(sound, number=number)[1]["said"] == first[1]["said"]
        assert len(served.said()) == 1

    def test_a_recording_replayed_under_another_number_is_not_taken(self, served, tmp_path):
        anna = served.phone()
        sound = write_audio(tmp_path / "sent.webm", speech()).read_bytes()
        anna.send(sound)
        status, receipt = anna.send(sound)
        assert (status, receipt["told"]) == (200, "That is in the book already.")
        assert len(served.said()) == 1

    def test_a_recording_cut_by_a_call_is_kept_for_review(self, served, tmp_path):
        """Its end may be missing, which may change it: told by the phone, or by its length."""
        for seed, more in enumerate(({"Note_Cut": "1"}, {"Note_Length": "9.5"})):
            sound = write_audio(tmp_path / "sent.webm", speech(seed=seed)).read_bytes()
            receipt = served.phone().send(sound, **more)[1]
            assert receipt["said"][0]["outcome"] == "kept"

    @pytest.mark.parametrize("what", ["nothing", "noise", "half", "picture"])
    def test_a_broken_recording_is_kept_and_harms_nothing(self, served, tmp_path, what):
        whole = write_audio(tmp_path / "sent.webm", speech()).read_bytes()
        sound = {
            "nothing": b"", "noise": bytes(range(256)) * 40, "half": whole[: len(whole) // 2],
            "picture": b"\x89PNG\r\n\x1a\n" + bytes(500),
        }[what]  # fmt: skip
        status, receipt = served.phone().send(sound, "audio/webm")
        if what == "nothing":
            assert status == 400
        else:
            assert status == 200
            if what != "half":
                assert receipt["said"][0]["outcome"] == "kept"
                assert "sound is kept" in receipt["said"][0]["reply"]
        assert served.phone("Ben").say("tree nine empty")[0] == 200

    def test_a_recording_that_brings_the_ear_down_is_kept_unheard(self, tmp_path):
        """The third try does not decode it."""
        import asyncio
        from concurrent.futures.process import BrokenProcessPool

        from fieldvoice.phone.workers import HouseWorker

        worker = HouseWorker.__new__(HouseWorker)
        tried = []

        class Dying:
            async def do(self, work):
                tried.append(work.keywords)
                if not work.keywords.get("unreadable"):
                    raise BrokenProcessPool
                return {"said": []}

        worker._worker = Dying()
        assert asyncio.run(worker.take("a note")) == {"said": []}
        assert tried == [{}, {}, {"unreadable": True}]


class TestSettling:
    def kept(self, served, phone):
        phone.say("the snow is blue and the owl is gone")
        return served.rows("SELECT 'u' || id FROM utterances ORDER BY id DESC LIMIT 1")[0][0]

    def test_by_saying_it_anew(self, served):
        anna = served.phone()
        kept = self.kept(served, anna)
        receipt = anna.say("tree nine half full", Note_Settles=kept)[1]
        assert receipt["said"][0]["outcome"] == "saved"
        again = anna.say("tree nine half full", Note_Settles=kept)[1]
        assert again["told"] == "That is settled already."

    def test_by_throwing_it_away_or_keeping_it_as_a_remark(self, served):
        anna = served.phone()
        for words, count in (("throw it away", 0), ("keep it as a remark", 1)):
            anna.say(words, Note_Settles=self.kept(served, anna))
            assert len(served.rows("SELECT 1 FROM live_entries")) == count

    def test_what_is_not_understood_leaves_it(self, served):
        anna = served.phone()
        kept = self.kept(served, anna)
        assert "still waits" in anna.say("the moon is out", Note_Settles=kept)[1]["told"]
        assert anna.say("tree nine half full", Note_Settles=kept)[1]["said"]

    @pytest.mark.parametrize("wrong", ["u99", "e1", "../../etc", "'; DROP TABLE entries"])
    def test_what_is_not_there_is_not_settled(self, served, wrong):
        receipt = served.phone().say("tree nine empty", Note_Settles=wrong)[1]
        assert receipt["told"] == "That is settled already."


def test_the_day_is_live_on_every_phone(served):
    """One person's correction is seen by the others."""
    anna, ben = served.phone("Anna"), served.phone("Ben")
    news = _News(ben)
    assert news.next(lambda day: day["notes"] == [])
    anna.say("poured eleven gallons into tank one")
    day = news.next(lambda day: bool(day["notes"]))
    assert day["board"]["rows"][0]["vessel"].lower() == "tank 1"
    assert day["notes"][0]["by"] == "Anna"
    anna.say("no, twelve gallons")
    assert news.next(lambda day: "12" in day["board"]["rows"][0]["level"])


def test_what_the_laptop_writes_is_seen_too(served):
    from fieldvoice.book import Book
    from fieldvoice.dialogue import Conversation
    from fieldvoice.transcript import typed
    from tests.phone.served import UNDERSTANDER

    news = _News(served.phone())
    news.next(lambda day: True)
    with Book.open(served.book) as book:
        talk = Conversation(book, UNDERSTANDER, clock=served.clock)
        talk.hear(typed("tree nine two gallons"))
    assert news.next(lambda day: day["trees"] and day["trees"][0]["tree"].lower() == "tree 9")


def test_twenty_notes_under_an_earlier_address_arrive(tmp_path):
    """The page of the old origin sends them to the new one, with the old secret; then it moves."""
    old = Served(tmp_path)
    with old.running():
        anna = old.phone()
        anna.say("tree one two gallons")
        old_origin = old.base
    with Served(tmp_path, earlier=(old_origin,), address="127.0.0.3").running() as new:
        page = new.stranger()
        page.secret = anna.secret
        asked = {"Origin": old_origin, "Access_Control_Request_Method": "PUT"}
        status, headers, _ = page.raw("/notes/" + new_number(), "OPTIONS", None, **asked)
        assert status == 204
        assert headers["access-control-allow-origin"] == old_origin
        assert "authorization" in headers["access-control-allow-headers"]
        for number in range(2, 22):
            assert page.say(f"tree {number} two gallons", Origin=old_origin)[0] == 200
        assert new.said() == ["tree one two gallons"] + [
            f"tree {number} two gallons" for number in range(2, 22)
        ]
        ticket = page.ask("/ticket", "POST", b"", Origin=old_origin)[1]["ticket"]
        moved = new.stranger()
        status, told = moved.ask("/pair", "POST", f'{{"ticket": "{ticket}"}}'.encode())
        moved.secret = told["secret"]
        assert (status, told["name"]) == (200, "Anna")
        assert moved.say("undo")[1]["said"][0]["reply"].startswith("Took back: Tree 21:")
        again, _ = moved.ask("/pair", "POST", f'{{"ticket": "{ticket}"}}'.encode())
        assert again == 403


class _News:
    """Listens to the stream of the day."""

    def __init__(self, phone: Phone) -> None:
        import urllib.request

        asked = urllib.request.Request(
            f"{phone.base}/news", headers={"Authorization": f"Bearer {phone.secret}"}
        )
        self._answer = urllib.request.urlopen(asked, context=phone.tls, timeout=20)

    def next(self, wanted):
        import json

        until = time.monotonic() + 15
        while time.monotonic() < until:
            line = self._answer.readline().decode()
            if line.startswith("data: ") and wanted(day := json.loads(line[6:])):
                return day
        raise AssertionError("the day never came")


def _at(served: Served) -> datetime:
    return datetime.fromisoformat(served.rows("SELECT at FROM utterances")[0][0])


def _until(over, seconds: float = 15.0) -> None:
    until = time.monotonic() + seconds
    while not over():
        assert time.monotonic() < until
        time.sleep(0.05)
