"""Models that the user adds: from folders, archives and a web server of the test's own."""

from __future__ import annotations

import hashlib
import io
import os
import random
import tarfile
import threading
import zipfile
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import SimpleNamespace
from typing import TYPE_CHECKING, ClassVar

import pytest

from fieldvoice.asr.fetch import FetchError, _Rules, fetch
from fieldvoice.asr.models import Model, ModelError, ModelStore
from fieldvoice.asr.unpack import ArchiveError, unpack

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

PAYLOAD = bytes(range(256)) * 4096  # a megabyte


@pytest.fixture
def store(tmp_path: Path) -> ModelStore:
    return ModelStore(tmp_path / "store")


def vosk_files(folder: Path) -> Path:
    """Make a folder that looks like a Vosk model."""
    for name in ("am/final.mdl", "graph/Gr.fst", "conf/model.conf"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(PAYLOAD if name == "am/final.mdl" else b"x")
    return folder


def zipped(folder: Path, wrapped_in: str = "model-small-0.1") -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                archive.write(path, f"{wrapped_in}/{path.relative_to(folder)}")
    return out.getvalue()


# --- folders and archives ----------------------------------------------------------------------


def test_a_folder_is_copied_listed_and_removed(store: ModelStore, tmp_path: Path) -> None:
    folder = vosk_files(tmp_path / "My Model")
    added = store.add(str(folder), knows=lambda kind, root: 0.97)
    assert (added.name, added.kind, added.knows) == ("my-model", "vosk", 0.97)
    assert store.models() == [added]
    assert (added.folder / "am" / "final.mdl").read_bytes() == PAYLOAD
    store.remove("my-model")
    assert store.models() == []
    assert (folder / "am" / "final.mdl").exists()


@pytest.mark.parametrize("ending", [".zip", ".tar.gz", ".tar"])
def test_an_archive_with_a_folder_around_the_model(
    store: ModelStore, tmp_path: Path, ending: str
) -> None:
    folder = vosk_files(tmp_path / "made")
    path = tmp_path / f"small{ending}"
    if ending == ".zip":
        path.write_bytes(zipped(folder))
    else:
        with tarfile.open(path, "w:gz" if ending.endswith("gz") else "w") as archive:
            archive.add(folder, "model-small-0.1")
    added = store.add(str(path))
    assert (added.name, added.kind) == ("small", "vosk")


def test_what_is_no_model_leaves_nothing_behind(store: ModelStore, tmp_path: Path) -> None:
    (tmp_path / "pictures").mkdir()
    with pytest.raises(ModelError, match="no model that can be used"):
        store.add(str(tmp_path / "pictures"))
    with pytest.raises(ModelError, match="neither a folder nor an archive"):
        store.add(str(tmp_path / "nothing"))
    assert store.models() == []
    assert list((tmp_path / "store").iterdir()) == []


def test_a_name_is_taken_once(store: ModelStore, tmp_path: Path) -> None:
    folder = vosk_files(tmp_path / "small")
    store.add(str(folder))
    with pytest.raises(ModelError, match="already"):
        store.add(str(folder))
    assert store.add(str(folder), name="second").name == "second"


@pytest.mark.parametrize("name", ["../out", "", "a/b", ".hidden"])
def test_a_name_cannot_lead_elsewhere(store: ModelStore, tmp_path: Path, name: str) -> None:
    with pytest.raises(ModelError):
        store.add(str(vosk_files(tmp_path / "small")), name=name or " ")


@pytest.mark.parametrize("name", ["../store", "nothing", ".", ""])
def test_only_models_can_be_removed(store: ModelStore, tmp_path: Path, name: str) -> None:
    store.add(str(vosk_files(tmp_path / "small")))
    with pytest.raises(ModelError, match="there is: small"):
        store.remove(name)


def test_a_wrong_sum_is_refused(store: ModelStore, tmp_path: Path) -> None:
    path = tmp_path / "small.zip"
    path.write_bytes(zipped(vosk_files(tmp_path / "made")))
    with pytest.raises(ModelError, match="SHA-256"):
        store.add(str(path), sha256="0" * 64)
    right = hashlib.sha256(path.read_bytes()).hexdigest()
    assert store.add(str(path), sha256=right.upper()).name == "small"


# --- archives from strangers ------------------------------------------------------------------


@pytest.mark.parametrize(
    "name", ["../escaped", "/escaped", "model/../../escaped", "..\\escaped", "C:\\escaped"]
)
@pytest.mark.parametrize("kind", ["zip", "tar"])
def test_paths_that_lead_outside_are_refused(tmp_path: Path, name: str, kind: str) -> None:
    path, into = tmp_path / "bad", tmp_path / "in" / "to"
    into.mkdir(parents=True)
    if kind == "zip":
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr(name, b"gotcha")
    else:
        with tarfile.open(path, "w") as tar:
            tar.addfile(tarfile.TarInfo(name), io.BytesIO())
    with pytest.raises(ArchiveError, match="leads outside"):
        unpack(path, into)
    assert [one for one in tmp_path.rglob("*") if one.is_file()] == [path]


@pytest.mark.parametrize(
    "kind",
    [tarfile.SYMTYPE, tarfile.LNKTYPE, tarfile.FIFOTYPE, tarfile.CHRTYPE, tarfile.BLKTYPE],
)
def test_links_and_devices_are_refused(tmp_path: Path, kind: bytes) -> None:
    path, into = tmp_path / "bad.tar", tmp_path / "into"
    into.mkdir()
    with tarfile.open(path, "w") as tar:
        tar.addfile(tarfile.TarInfo("model/before"), io.BytesIO())
        info = tarfile.TarInfo("model/link")
        info.type, info.linkname = kind, "/etc/passwd"
        tar.addfile(info)
    with pytest.raises(ArchiveError, match="holds a link or a device"):
        unpack(path, into)
    assert list(into.rglob("*")) == []


def test_of_a_tar_nothing_but_names_and_bytes_is_taken(tmp_path: Path) -> None:
    path, into = tmp_path / "small.tar", tmp_path / "into"
    into.mkdir()
    with tarfile.open(path, "w") as tar:
        for name, kind in (("model", tarfile.DIRTYPE), ("model/tool", tarfile.REGTYPE)):
            info = tarfile.TarInfo(name)
            info.type, info.mode, info.uid, info.mtime = kind, 0o7777, 12345, 0
            info.size = len(PAYLOAD) if kind == tarfile.REGTYPE else 0
            tar.addfile(info, io.BytesIO(PAYLOAD))
    unpack(path, into)
    made = [into / "model", into / "model" / "tool"]
    assert sorted(into.rglob("*")) == made
    assert made[1].read_bytes() == PAYLOAD
    plain = tmp_path / "plain"
    plain.write_bytes(b"")
    found = made[1].stat()
    assert (found.st_mode, found.st_uid) == (plain.stat().st_mode, plain.stat().st_uid)
    assert made[0].stat().st_mode & 0o7000 == into.stat().st_mode & 0o7000
    assert found.st_mtime > 0


def test_a_file_in_the_place_of_a_folder_is_refused(tmp_path: Path) -> None:
    path, into = tmp_path / "bad.tar", tmp_path / "into"
    into.mkdir()
    with tarfile.open(path, "w") as tar:
        tar.addfile(tarfile.TarInfo("model"), io.BytesIO())
        tar.addfile(tarfile.TarInfo("model/conf"), io.BytesIO())
    with pytest.raises(ArchiveError, match="cannot be unpacked"):
        unpack(path, into)


def test_a_link_in_a_zip_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "bad.zip"
    with zipfile.ZipFile(path, "w") as archive:
        info = zipfile.ZipInfo("model/link")
        info.external_attr = 0o120777 << 16
        archive.writestr(info, "/etc/passwd")
    with pytest.raises(ArchiveError, match="holds a link"):
        unpack(path, tmp_path)


def test_a_bomb_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "bomb.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("zeros", bytes(10_000_000))
    monkeypatch.setattr("fieldvoice.asr.unpack.LARGEST_BYTES", 1_000_000)
    with pytest.raises(ArchiveError, match="more than a model can be"):
        unpack(path, tmp_path)


def test_a_damaged_archive_is_refused_in_one_line(tmp_path: Path) -> None:
    whole = zipped(vosk_files(tmp_path / "made"))
    path = tmp_path / "cut.zip"
    path.write_bytes(whole[: len(whole) // 2] + whole[-200:])
    with pytest.raises(ArchiveError) as raised:
        unpack(path, tmp_path)
    assert "\n" not in str(raised.value)


@pytest.mark.parametrize("kind", ["zip", "gz", "xz"])
def test_packed_bytes_that_changed_are_refused(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "changed"
    noise = random.Random(1).randbytes(100_000)
    if kind == "zip":
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("model/conf", noise.hex())
    else:
        (tmp_path / "conf").write_text(noise.hex())
        with tarfile.open(path, f"w:{kind}") as tar:  # type: ignore[call-overload]
            tar.add(tmp_path / "conf", "model/conf")
    whole = bytearray(path.read_bytes())
    for at in range(len(whole) // 4, len(whole) * 3 // 4, 1000):
        whole[at] ^= 0xFF
    path.write_bytes(whole)
    (tmp_path / "into").mkdir()
    with pytest.raises(ArchiveError, match="is damaged"):
        unpack(path, tmp_path / "into")


# --- the web ------------------------------------------------------------------------------------


class Server(BaseHTTPRequestHandler):
    """Serves one file, in ranges; breaks off after ``gives`` bytes of an answer."""

    content = b""
    version = '"one"'
    gives: int | None = None
    ranges: ClassVar[list[str | None]] = []
    tells_length = True
    sends_on_to: str | None = None
    says_range: str | None = None

    def do_GET(self) -> None:
        cls = type(self)
        asked = self.headers.get("Range")
        cls.ranges.append(asked)
        first = 0
        if asked and self.headers.get("If-Range") == cls.version:
            first = int(asked.removeprefix("bytes=").rstrip("-"))
        if cls.sends_on_to not in (None, self.path):
            self.send_response(302)
            self.send_header("Location", cls.sends_on_to)
            self.end_headers()
            return
        if self.path != "/small.zip":
            self.send_error(404)
            return
        if first >= len(cls.content):
            self.send_error(416)
            return
        body = cls.content[first:]
        self.send_response(206 if first else 200)
        self.send_header("ETag", cls.version)
        if cls.tells_length:
            self.send_header("Content-Length", str(len(body)))
        if cls.says_range:
            self.send_header("Content-Range", cls.says_range)
        self.end_headers()
        self.wfile.write(body if cls.gives is None else body[: cls.gives])

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture
def server() -> Iterator[tuple[type[Server], str]]:
    class Fresh(Server):
        ranges: ClassVar[list[str | None]] = []

    with ThreadingHTTPServer(("127.0.0.1", 0), Fresh) as running:
        threading.Thread(target=partial(running.serve_forever, 0.05), daemon=True).start()
        yield Fresh, f"http://127.0.0.1:{running.server_port}/small.zip"
        running.shutdown()


def test_a_model_comes_from_the_web_with_its_sum_checked(
    store: ModelStore, tmp_path: Path, server: tuple[type[Server], str]
) -> None:
    serves, address = server
    serves.content = zipped(vosk_files(tmp_path / "made"))
    told: list[tuple[int, int | None]] = []
    added = store.add(
        address,
        sha256=hashlib.sha256(serves.content).hexdigest(),
        progress=lambda there, whole: told.append((there, whole)),
    )
    assert isinstance(added, Model)
    assert (added.name, added.source) == ("small", address)
    assert told[-1] == (len(serves.content), len(serves.content))
    assert list((tmp_path / "store" / ".downloads").iterdir()) == []


def test_a_download_that_broke_off_goes_on_where_it_stopped(
    tmp_path: Path, server: tuple[type[Server], str]
) -> None:
    serves, address = server
    serves.content, serves.gives = PAYLOAD, 300_000
    to = tmp_path / "file"
    with pytest.raises(FetchError, match="goes on from here"):
        fetch(address, to, lambda *_: None)
    assert not to.exists()
    serves.gives = None
    fetch(address, to, lambda *_: None, hashlib.sha256(PAYLOAD).hexdigest())
    assert serves.ranges == [None, "bytes=300000-"]
    assert to.read_bytes() == PAYLOAD
    assert [one.name for one in tmp_path.iterdir()] == ["file"]


def test_a_file_that_changed_meanwhile_is_not_joined_to_the_old_beginning(
    tmp_path: Path, server: tuple[type[Server], str]
) -> None:
    serves, address = server
    serves.content, serves.gives = PAYLOAD, 300_000
    with pytest.raises(FetchError):
        fetch(address, tmp_path / "file", lambda *_: None)
    serves.content, serves.version, serves.gives = PAYLOAD[::-1], '"two"', None
    fetch(address, tmp_path / "file", lambda *_: None)
    assert (tmp_path / "file").read_bytes() == PAYLOAD[::-1]


def test_a_download_that_was_whole_already_is_used(
    tmp_path: Path, server: tuple[type[Server], str]
) -> None:
    serves, address = server
    serves.content, serves.gives = PAYLOAD, len(PAYLOAD) - 1
    with pytest.raises(FetchError):
        fetch(address, tmp_path / "file", lambda *_: None)
    with (tmp_path / "file.part").open("ab") as file:
        file.write(PAYLOAD[-1:])
    fetch(address, tmp_path / "file", lambda *_: None)
    assert (tmp_path / "file").read_bytes() == PAYLOAD


def test_a_wrong_download_is_thrown_away(tmp_path: Path, server: tuple[type[Server], str]) -> None:
    serves, address = server
    serves.content = PAYLOAD
    with pytest.raises(FetchError, match="thrown away"):
        fetch(address, tmp_path / "file", lambda *_: None, "0" * 64)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("address", ["http://127.0.0.1:9/small.zip", "http://[bad/small.zip"])
def test_a_server_that_is_not_there_is_told_in_one_line(
    store: ModelStore, tmp_path: Path, address: str
) -> None:
    with pytest.raises(FetchError) as raised:
        fetch(address, tmp_path / "file", lambda *_: None)
    assert "\n" not in str(raised.value)


def test_a_missing_file_is_told(tmp_path: Path, server: tuple[type[Server], str]) -> None:
    with pytest.raises(FetchError, match="404"):
        fetch(server[1].replace("small", "large"), tmp_path / "file", lambda *_: None)


class TestRules:
    """Where a download may come from, and how much of it."""

    def test_no_more_than_a_model_can_be(
        self, tmp_path: Path, server: tuple[type[Server], str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Whether the server says how much it is or not; what has come is thrown away."""
        monkeypatch.setattr("fieldvoice.asr.fetch.LARGEST_BYTES", 500_000)
        serves, address = server
        serves.content = PAYLOAD
        for tells in (True, False):
            serves.tells_length = tells
            with pytest.raises(FetchError, match="larger than a model can be"):
                fetch(address, tmp_path / "file", lambda *_: None)
            assert list(tmp_path.iterdir()) == []

    def test_no_more_than_there_is_room(
        self, tmp_path: Path, server: tuple[type[Server], str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("shutil.disk_usage", lambda _: SimpleNamespace(free=1000))
        server[0].content = PAYLOAD
        with pytest.raises(FetchError, match="there are 0 MB free"):
            fetch(server[1], tmp_path / "file", lambda *_: None)

    @pytest.mark.parametrize(
        ("to", "told"),
        [
            ("file:///etc/passwd", "only https"),
            ("ftp://192.0.2.1/small.zip", "only https"),
            ("http://192.0.2.1/small.zip", "could be changed on its way"),
        ],
    )
    def test_where_a_server_sends_us_on_the_same_holds(
        self, server: tuple[type[Server], str], tmp_path: Path, to: str, told: str
    ) -> None:
        """For a download that was not asked for from this machine either way."""
        rules = _Rules("https://192.0.2.1/small.zip", checked=False)
        with pytest.raises(FetchError, match=told):
            rules.look(to)
        serves, address = server
        serves.sends_on_to = to
        if not to.startswith("http"):
            with pytest.raises(FetchError, match=f"{told}|is not allowed"):
                fetch(address, tmp_path / "file", lambda *_: None)

    @pytest.mark.parametrize(
        "to", ["https://127.0.0.1/x", "http://localhost:80/x", "http://[::1]/"]
    )
    def test_a_server_elsewhere_does_not_send_us_to_this_machine(self, to: str) -> None:
        with pytest.raises(FetchError, match="sends us to this machine"):
            _Rules("https://192.0.2.1/small.zip", checked=True).look(to)

    def test_a_safe_way_on_is_gone(self, tmp_path: Path, server: tuple[type[Server], str]) -> None:
        serves, address = server
        serves.content, serves.sends_on_to = PAYLOAD, "/small.zip"
        fetch(address.replace("small", "moved"), tmp_path / "file", lambda *_: None)
        assert (tmp_path / "file").read_bytes() == PAYLOAD

    def test_plain_http_needs_a_checksum(self) -> None:
        _Rules("http://192.0.2.1/a.zip", checked=True).look("http://192.0.2.1/a.zip")
        with pytest.raises(FetchError, match="or give --sha256"):
            _Rules("http://192.0.2.1/a.zip", checked=False).look("http://192.0.2.1/a.zip")

    def test_what_goes_on_in_another_place_is_not_joined(
        self, tmp_path: Path, server: tuple[type[Server], str]
    ) -> None:
        serves, address = server
        serves.content, serves.gives = PAYLOAD, 300_000
        with pytest.raises(FetchError):
            fetch(address, tmp_path / "file", lambda *_: None)
        serves.gives, serves.says_range = None, "bytes 0-299999/1048576"
        with pytest.raises(FetchError, match="in another place"):
            fetch(address, tmp_path / "file", lambda *_: None)


class TestFolders:
    """A folder is looked at as an archive is."""

    def test_a_link_that_leads_out_is_not_followed(self, store: ModelStore, tmp_path: Path) -> None:
        folder = vosk_files(tmp_path / "small")
        (tmp_path / "secret").write_text("mine")
        (folder / "conf" / "more").symlink_to(tmp_path / "secret")
        with pytest.raises(ModelError, match="a link that leads out of it or nowhere, conf/more"):
            store.add(str(folder))

    def test_a_link_within_is_a_file(self, store: ModelStore, tmp_path: Path) -> None:
        folder = vosk_files(tmp_path / "small")
        (folder / "conf" / "more").symlink_to("model.conf")
        added = store.add(str(folder))
        assert (added.folder / "conf" / "more").read_bytes() == b"x"

    def test_a_pipe_is_refused(self, store: ModelStore, tmp_path: Path) -> None:
        folder = vosk_files(tmp_path / "small")
        os.mkfifo(folder / "pipe")
        with pytest.raises(ModelError, match="no file, pipe"):
            store.add(str(folder))

    def test_too_much_is_refused(
        self, store: ModelStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("fieldvoice.asr.unpack.LARGEST_BYTES", 1000)
        with pytest.raises(ArchiveError, match="more than a model can be"):
            store.add(str(vosk_files(tmp_path / "small")))

    def test_a_folder_has_no_sum(self, store: ModelStore, tmp_path: Path) -> None:
        with pytest.raises(ModelError, match="has no SHA-256"):
            store.add(str(vosk_files(tmp_path / "small")), sha256="0" * 64)
