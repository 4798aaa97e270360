"""Pictures of a build: what is taken, under which name it lies where, and what is shown of a folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.errors import FileAccessError
from lugwright.workflow import keep_photo, photo_file, photo_folder, photos, picture_kind

JPEG = b"\xff\xd8\xff\xe0" + bytes(40)
PNG = b"\x89PNG\r\n\x1a\n" + bytes(40)
WEBP = b"RIFF\x24\x00\x00\x00WEBPVP8 " + bytes(40)
COMMAND = "0123456789abcdef" * 2


@pytest.fixture
def build(tmp_path: Path) -> Path:
    path = tmp_path / "amp.toml"
    path.write_text("format = 1\n", encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        (JPEG, "jpg"), (PNG, "png"), (WEBP, "webp"), (b"", ""), (b"\xff\xd8", ""), (b"GIF89a", ""), (b"<svg", ""),
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", ""), (b"%PDF-1.7", ""),
    ],
)  # fmt: skip
def test_the_first_bytes_say_what_a_picture_is(head: bytes, kind: str) -> None:
    assert picture_kind(head[:12]) == kind


@pytest.mark.parametrize(
    ("about", "name"),
    [
        ("card 8, Earth and mains: Mains (2 of 2)", "card-8-earth-and-mains-mains-2-of-2-0123456789ab.jpg"),
        ("../../etc/passwd", "etc-passwd-0123456789ab.jpg"),
        ("", "photo-0123456789ab.jpg"),
        ("Röhre \x00 <b>", "r-hre-b-0123456789ab.jpg"),
    ],
)
def test_a_picture_lies_in_the_folder_of_its_build_once(build: Path, about: str, name: str) -> None:
    for _ in range(2):
        assert keep_photo(build, JPEG, about=about, command=COMMAND) == name
    assert [each.name for each in photo_folder(build).iterdir()] == [name]
    assert photo_folder(build) == build.parent / "amp.photos"
    assert photo_file(build, name) == photo_folder(build) / name
    assert (photo_folder(build) / name).read_bytes() == JPEG


def test_what_is_no_picture_or_too_large_is_refused(build: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(FileAccessError) as caught:
        keep_photo(build, b"<svg onload=alert(1)>", about="", command=COMMAND)
    assert caught.value.what == "this is no picture that can be kept"
    assert caught.value.found == "neither JPEG, PNG nor WebP"
    assert caught.value.wanted == "a JPEG, PNG or WebP of at most 12 MB"
    assert caught.value.do == "save it as JPEG"
    monkeypatch.setattr(photos, "MOST_BYTES", 1024 * 1024)
    with pytest.raises(FileAccessError) as caught:
        keep_photo(build, JPEG + bytes(1024 * 1024), about="", command=COMMAND)
    assert caught.value.what == "this picture is too large"
    assert caught.value.found == "more than 1 MB"
    assert caught.value.wanted == "a JPEG, PNG or WebP of at most 1 MB"
    assert caught.value.do == "take it with fewer pixels"
    assert not photo_folder(build).exists()


def test_a_folder_has_an_end(build: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "MOST_PHOTOS", 1)
    first = keep_photo(build, JPEG, about="", command=COMMAND)
    with pytest.raises(FileAccessError) as caught:
        keep_photo(build, PNG, about="", command=COMMAND)
    assert caught.value.what == "amp.photos is full"
    assert caught.value.found == "1 pictures"
    assert caught.value.wanted == "fewer"
    assert caught.value.do == "move some of them away"
    assert keep_photo(build, JPEG, about="", command=COMMAND) == first, "the same one again is none more"


@pytest.mark.parametrize("link", [True, False])
def test_a_link_or_a_file_in_the_place_of_the_folder_is_not_written_through(
    build: Path, tmp_path_factory: pytest.TempPathFactory, link: bool
) -> None:
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    if link:
        photo_folder(build).symlink_to(elsewhere)
        (elsewhere / "a.jpg").write_bytes(JPEG)
    else:
        photo_folder(build).write_bytes(b"")
    with pytest.raises(FileAccessError) as caught:
        keep_photo(build, JPEG, about="", command=COMMAND)
    assert caught.value.what == "amp.photos is no folder of its own"
    assert caught.value.found == "a file or a link of that name"
    assert caught.value.wanted == "a folder beside amp.toml, or nothing: it is made then"
    assert caught.value.do == "move it away"
    assert photo_file(build, "a.jpg") is None


def test_nothing_but_pictures_beside_the_build_is_shown(build: Path, tmp_path: Path) -> None:
    (tmp_path / "beside.JPG").write_bytes(JPEG)
    (tmp_path / "false.jpg").write_bytes(b"format = 1")
    (tmp_path / ".hidden.jpg").write_bytes(JPEG)
    (tmp_path / "linked.jpg").symlink_to(tmp_path / "beside.JPG")
    (tmp_path / "folder.jpg").mkdir()
    assert photo_file(build, "beside.JPG") == tmp_path / "beside.JPG"
    for name in ("false.jpg", ".hidden.jpg", "linked.jpg", "folder.jpg", "none.jpg", "amp.toml", "../beside.JPG",
                 "a/beside.JPG", "a\\beside.JPG", "", "beside.JPG\n", "\x00.jpg"):  # fmt: skip
        assert photo_file(build, name) is None, name
