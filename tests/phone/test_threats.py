"""The threats that SECURITY.md names, each tried."""

from __future__ import annotations

import json
import socket
import ssl
import time
from datetime import timedelta
from random import Random

import numpy as np
import pytest

from fieldvoice.asr import read_audio
from fieldvoice.errors import PhoneError, UnreadableAudioError
from fieldvoice.phone import page
from fieldvoice.phone.address import chosen, is_private
from fieldvoice.phone.app import Limits
from fieldvoice.phone.limits import Rate
from fieldvoice.phone.note import LARGEST_BYTES
from fieldvoice.phone.pairing import CODE_LASTS, WRONG_TRIES, Door, Phones, clean_name
from tests.asr.conftest import write_audio
from tests.phone.served import EARLIER, Served, new_number

#: All that tells or changes anything of the book.
CLOSED = [
    ("PUT", "/notes/" + "a" * 32), ("PUT", "/notes/" + "a" * 32 + "/ahead"),
    ("GET", "/notes/" + "a" * 32 + "/voice"), ("GET", "/me"), ("GET", "/news"), ("POST", "/ticket"),
]  # fmt: skip


class TestAnotherPhoneOnTheNetwork:
    @pytest.mark.parametrize(("method", "path"), CLOSED)
    @pytest.mark.parametrize("secret", [None, "", "wrong", "ä", "Bearer"])
    def test_nothing_is_told_or_taken_without_a_secret(self, served, method, path, secret):
        stranger = served.stranger()
        headers = {} if secret is None else {"Authorization": f"Bearer {secret}"}
        headers = {key: value.encode().decode("latin-1") for key, value in headers.items()}
        data = b"tree nine empty" if method != "GET" else None
        assert stranger.raw(path, method, data, **headers)[0] == 401
        assert served.said() == []

    def test_a_code_is_not_guessed(self, served):
        """Five wrong ones shut the door, and nobody is told how near they were."""
        served.door.open()
        served.door.code = "123456"
        stranger = served.stranger()
        told = [stranger.pair(f"{number:06d}") for number in range(WRONG_TRIES)]
        assert {status for status, _ in told} <= {403, 429}
        assert not served.door.is_open
        assert stranger.pair("123456")[0] in (403, 429)
        assert served.phones.all() == []

    def test_tries_are_few_also_when_the_code_is_made_anew(self, served):
        stranger = served.stranger()
        served.door.open()
        statuses = [stranger.pair("x")[0] for _ in range(10)]
        assert 429 in statuses

    def test_secrets_are_not_kept(self, served):
        anna = served.phone()
        kept = (served.place / "phones.json").read_text()
        assert anna.secret not in kept
        assert (served.place / "phones.json").stat().st_mode & 0o077 == 0

    def test_it_listens_at_the_chosen_address_alone(self, served):
        with socket.socket() as other:
            other.settimeout(2)
            assert other.connect_ex(("127.0.0.2", served.port)) != 0

    @pytest.mark.parametrize("address", ["0.0.0.0", "8.8.8.8", "::", "100.64.0.1", "house", ""])
    def test_it_never_listens_on_all_or_on_the_internet(self, address):
        assert not is_private(address)
        with pytest.raises(PhoneError):
            chosen(address)


class TestAPageFromElsewhere:
    @pytest.mark.parametrize(
        "origin", ["https://example.com", "null", "http://127.0.0.1:1", "https://127.0.0.1:1"]
    )
    @pytest.mark.parametrize("method", ["OPTIONS", "PUT"])
    def test_it_gets_no_answer(self, served, origin, method):
        anna = served.phone()
        status, headers, _ = anna.raw("/notes/" + new_number(), method, b"x", Origin=origin)
        assert status == 403
        assert "access-control-allow-origin" not in headers

    def test_an_earlier_address_gets_one_but_needs_the_secret(self, served):
        stranger = served.stranger()
        status, headers, _ = stranger.raw("/me", Origin=EARLIER)
        assert (status, headers["access-control-allow-origin"]) == (401, EARLIER)
        assert "access-control-allow-credentials" not in headers

    @pytest.mark.parametrize("host", ["evil.example:8443", "127.0.0.1", "localhost"])
    def test_another_name_for_this_address_is_refused(self, served, host):
        """A name made to point here would give its page the house as its own."""
        assert served.phone().raw("/me", Host=host)[0] == 421

    def test_no_page_may_frame_it_and_it_loads_nothing_from_elsewhere(self, served):
        _, headers, _ = served.stranger().raw("/")
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "connect-src 'self';" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert "set-cookie" not in headers


class TestReplay:
    def test_a_code_holds_once(self, served):
        code = served.door.open()
        assert served.stranger().pair(code)[0] == 200
        assert served.stranger().pair(code)[0] == 403

    def test_a_code_runs_out(self, served):
        code = served.door.open()
        served.offset = CODE_LASTS + timedelta(seconds=1)
        assert served.stranger().pair(code)[0] == 403

    def test_a_note_belongs_to_its_phone(self, served):
        """Another phone that uses its number sends a note of its own, and sees no answer of it."""
        anna, ben, number = served.phone("Anna"), served.phone("Ben"), new_number()
        anna.say("tree nine two gallons", number)
        said = ben.say("tree four empty", number)[1]["said"]
        assert [one["by"] for one in said] == ["Ben"]
        assert len(served.said()) == 2


class TestAStolenPhone:
    def test_it_is_shut_out_at_once_by_another_program(self, served):
        anna, ben = served.phone("Anna"), served.phone("Ben")
        ticket = anna.ask("/ticket", "POST", b"")[1]["ticket"]
        Phones(served.place / "phones.json", served.clock).revoke("anna")
        assert anna.say("tree nine empty")[0] == 401
        stolen = json.dumps({"ticket": ticket}).encode()
        assert served.stranger().ask("/pair", "POST", stolen)[0] == 403
        assert ben.say("tree nine empty")[0] == 200
        assert served.said() == ["tree nine empty"]

    def test_its_stream_of_news_ends(self, served):
        import urllib.request

        anna = served.phone()
        asked = urllib.request.Request(
            f"{served.base}/news", headers={"Authorization": f"Bearer {anna.secret}"}
        )
        with urllib.request.urlopen(asked, context=anna.tls, timeout=20) as news:
            assert news.readline()
            served.phones.revoke("Anna")
            served.phone("Ben").say("tree nine two gallons")
            assert b"gal" not in news.read()


class TestAFlood:
    def test_a_phone_gets_so_much_and_the_others_their_answers(self, tmp_path):
        slow = Limits(phone=Rate(1.0, 10.0, time.monotonic))
        with Served(tmp_path, limits=slow).running() as served:
            anna, ben = served.phone("Anna"), served.phone("Ben")
            statuses = [anna.ask("/me")[0] for _ in range(20)]
            assert statuses.count(200) < 15
            assert 429 in statuses
            assert ben.say("tree nine empty")[0] == 200

    def test_a_stranger_gets_so_much(self, tmp_path):
        slow = Limits(stranger=Rate(1.0, 10.0, time.monotonic))
        with Served(tmp_path, limits=slow).running() as served:
            statuses = [served.stranger().raw("/")[0] for _ in range(20)]
            assert 429 in statuses

    def test_connections_that_say_nothing_hold_nobody_up(self, served):
        anna = served.phone()
        silent = [socket.create_connection((served.address, served.port)) for _ in range(60)]
        try:
            assert anna.say("tree nine empty")[0] == 200
        finally:
            for one in silent:
                one.close()

    def test_buckets_of_strangers_do_not_pile_up(self):
        rate = Rate(1.0, 2.0, lambda: 0.0)
        assert [rate.allows("a") for _ in range(3)] == [True, True, False]
        for number in range(10_000):
            rate.allows(str(number))
        assert len(rate._left) <= 4096


class TestAHugeUpload:
    def test_it_is_refused_unread(self, served):
        """In words, or the connection ends while it is still being sent."""
        said = f"Content-Length: {LARGEST_BYTES + 1}"
        assert _sent_in_blocks(served, said, bytes(100_000)) in (413, 0)
        assert not (served.folder / "season_sound").exists()

    def test_also_when_it_does_not_say_how_long_it_is(self, served):
        block = b"186a0\r\n" + bytes(100_000) + b"\r\n"
        assert _sent_in_blocks(served, "Transfer-Encoding: chunked", block) in (413, 0)
        assert not (served.folder / "season_sound").exists()

    def test_long_recordings_and_long_words_are_no_notes(self, served):
        anna = served.phone()
        assert anna.send(b"RIFF", Note_Length="3600")[0] == 400
        assert anna.send(b"RIFF", Note_Length="nan")[0] == 400
        assert anna.say("tree " * 1000)[0] == 400
        assert served.said() == []

    def test_hours_in_a_small_file_are_not_unpacked(self, tmp_path):
        """Silence packs well: hours of it are smaller than a note of a minute."""
        place = write_audio(tmp_path / "long.flac", np.zeros(16_000 * 12, dtype=np.int16))
        assert place.stat().st_size < 10_000
        with pytest.raises(UnreadableAudioError, match="longer than 10 seconds"):
            read_audio(place, longest_s=10.0)


class TestNoPathsFromOutside:
    @pytest.mark.parametrize(
        "path",
        [
            "/../season.db", "/%2e%2e/season.db", "/page/../../season.db", "//etc/passwd",
            "/notes/..%2f..%2fseason", "/season_phone/phones.json", "/page.js/../page.css%00",
            "/__init__.py", "/index.html",
        ],
    )  # fmt: skip
    def test_only_the_pages_own_files_are_given(self, served, path):
        anna = served.phone()
        status, _, body = anna.raw(path, "PUT" if "notes" in path else "GET", b"x")
        assert status in (400, 404, 405)
        assert b"SQLite" not in body

    @pytest.mark.parametrize("number", ["a" * 31, "A" * 32, "..", "a" * 32 + ".0", "é" * 32])
    def test_a_number_is_a_number(self, served, number):
        from urllib.parse import quote

        assert served.phone().say("tree nine empty", quote(number))[0] in (400, 404)

    @pytest.mark.parametrize("name", ["", "   ", "\x1b\x07", "​"])
    def test_a_name_is_a_name(self, name):
        with pytest.raises(PhoneError):
            clean_name(name)

    def test_a_name_steers_no_terminal(self):
        assert "\x1b" not in clean_name("Anna\x1b[2J")
        assert len(clean_name("x" * 500)) <= 30


class TestTheNetworkItself:
    def test_tls_is_1_2_or_later(self, served):
        old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        old.load_verify_locations(cadata=served.authority.der)
        old.minimum_version = ssl.TLSVersion.TLSv1
        old.maximum_version = ssl.TLSVersion.TLSv1_1
        old.set_ciphers("ALL:@SECLEVEL=0")
        assert _shaken(served, old) is None
        new = ssl.create_default_context(cadata=served.authority.der)
        assert _shaken(served, new) in ("TLSv1.2", "TLSv1.3")

    def test_plain_http_gets_nothing_from_the_page(self, served):
        with socket.create_connection((served.address, served.port), timeout=5) as plain:
            plain.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
            assert b"html" not in plain.recv(4096)

    def test_plain_http_gives_the_certificate_alone_and_only_while_pairing(self, served):
        served.door.open()
        _until(lambda: served.giver.port)
        answer = _plainly(served, b"GET / HTTP/1.1\r\n\r\n")
        head, _, body = answer.partition(b"\r\n\r\n")
        assert b"200 OK" in head
        assert body == served.authority.der
        for asked in (b"GET /me", b"GET /../season.db", b"PUT /", b"POST /pair", b"HEAD /"):
            answer = _plainly(served, asked + b" HTTP/1.1\r\n\r\n")
            assert answer.startswith(b"HTTP/1.1 404")
            assert answer.endswith(b"\r\n\r\n")
        assert _plainly(served, b"\x00" * 200_000) == b""
        served.door.shut()
        _until(lambda: _refuses(served))


def test_malformed_requests_crash_nothing_and_let_nobody_in(served):
    """Heads and bodies of chance, on one connection each; the campaign has more."""
    anna = served.phone()
    chance = Random(11)
    answers = [malformed(served, chance) for _ in range(60)]
    assert all(status < 200 or status >= 400 or path in OPEN_TO_ALL for path, status in answers)
    assert not any(status == 500 for _, status in answers)
    assert anna.say("tree nine empty")[0] == 200
    assert served.said() == ["tree nine empty"]


#: What anybody may ask for.
OPEN_TO_ALL = ("/hello", *page.FILES)


def malformed(served: Served, chance: Random) -> tuple[str, int]:
    """Send one request that no browser would; return its path and its status, 0 for none."""
    # The wild ones are no HTTP at all; the others get further.
    is_wild = chance.random() < 0.3
    lowest, highest = (1, 255) if is_wild else (33, 127)
    methods = ["GET", "PUT", "POST", "OPTIONS", "DELETE"]
    methods += ["TRACE", "\x00", "PUT " * 50] if is_wild else []
    note = f"/notes/{new_number()}"
    paths = ["/", "/pair", "/me", "/news", "/ticket", note, f"{note}/ahead", f"{note}/voice",
             "/hello", "*", "/%zz", "/../season.db", "//", "/page.js/.."]  # fmt: skip
    names = ["Authorization", "Note-At", "Phone-Clock", "Note-Length", "Piece-From", "Content-Type"]
    names += (
        ["Content-Length", "Origin", "Host", "Transfer-Encoding"] if chance.random() < 0.5 else []
    )
    own = f"{served.address}:{served.port}"
    path = chance.choice(paths)
    lines = [f"{chance.choice(methods)} {path} HTTP/1.{chance.choice('0129' if is_wild else '1')}"]
    lines += [f"Host: {own}"] if chance.random() < (0.5 if is_wild else 0.95) else []
    for _ in range(chance.randrange(6)):
        value = "".join(chr(chance.randrange(lowest, highest)) for _ in range(chance.randrange(40)))
        lines.append(
            f"{chance.choice(names)}: {chance.choice([value, 'Bearer x', '-1', '5', own])}"
        )
    body = chance.randbytes(chance.randrange(200))
    sent = "\r\n".join(lines).encode("latin-1", "replace") + b"\r\n\r\n" + body
    tls = ssl.create_default_context(cadata=served.authority.der)
    try:
        raw = socket.create_connection((served.address, served.port), timeout=0.5)
        with tls.wrap_socket(raw, server_hostname=served.address) as connection:
            connection.sendall(sent)
            answer = connection.recv(200)
    except OSError:
        return path, 0
    return path, int(answer[9:12]) if answer[:5] == b"HTTP/" else 0


class TestTheDoor:
    def test_tickets_hold_once_and_soon(self):
        from datetime import UTC, datetime

        now = [datetime(2027, 3, 5, tzinfo=UTC)]
        door = Door(lambda: now[0])
        ticket = door.ticket("p1")
        assert (door.of_ticket(ticket), door.of_ticket(ticket)) == ("p1", None)
        late = door.ticket("p1")
        now[0] += timedelta(minutes=3)
        assert door.of_ticket(late) is None

    def test_codes_have_six_digits(self, served):
        assert all(len(served.door.open()) == 6 for _ in range(50))


def _sent_in_blocks(served: Served, said: str, block: bytes) -> int:
    """Send more than a note may have; return the status, 0 where the connection ended before."""
    anna = served.phone()
    head = (
        f"PUT /notes/{new_number()} HTTP/1.1\r\nHost: {served.address}:{served.port}\r\n"
        f"Authorization: Bearer {anna.secret}\r\nNote-At: {_now(served)}\r\n"
        f"Phone-Clock: {_now(served)}\r\n{said}\r\n\r\n"
    )
    raw = socket.create_connection((served.address, served.port), timeout=20)
    with anna.tls.wrap_socket(raw, server_hostname=served.address) as sent:
        try:
            sent.sendall(head.encode())
            for _ in range(LARGEST_BYTES // 100_000 + 20):
                sent.sendall(block)
            return int(sent.recv(4096)[9:12])
        except (OSError, ValueError):
            return 0


def _now(served: Served) -> str:
    return served.clock().isoformat()


def _shaken(served: Served, tls: ssl.SSLContext) -> str | None:
    try:
        raw = socket.create_connection((served.address, served.port), timeout=5)
        with tls.wrap_socket(raw, server_hostname=served.address) as connection:
            return connection.version()
    except OSError:
        return None


def _plainly(served: Served, sent: bytes) -> bytes:
    answer = b""
    with socket.create_connection((served.address, served.giver.port), timeout=20) as plain:
        try:
            plain.sendall(sent)
            while part := plain.recv(65_536):
                answer += part
        except OSError:
            pass
    return answer


def _refuses(served: Served) -> bool:
    with socket.socket() as other:
        return other.connect_ex((served.address, served.giver.port)) != 0


def _until(over, seconds: float = 10.0) -> None:
    until = time.monotonic() + seconds
    while not over():
        assert time.monotonic() < until
        time.sleep(0.05)
