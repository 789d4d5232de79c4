# SPDX-License-Identifier: AGPL-3.0-or-later
"""Locked files: by a user's password, by the owner alone, in old and new ways, and by a lock that nobody here knows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pikepdf

from tests.faults.raw import Raw, bound

Maker = Callable[[Path], Path]

PASSWORD = "weir lantern ß"


def _locked(user: str, *, revision: int, aes: bool = True, allow: pikepdf.Permissions | None = None) -> Maker:
    def make(path: Path) -> Path:
        raw = Raw()
        open_one = bound(path.with_suffix(".open.pdf"), raw, content=raw.stream(b"0 g 50 50 100 100 re f"))
        lock = pikepdf.Encryption(
            user=user, owner="the owner's", R=revision, aes=aes and revision >= 4,  # type: ignore[arg-type]
            metadata=aes and revision >= 4, allow=allow or pikepdf.Permissions(),
        )  # fmt: skip
        with pikepdf.open(open_one) as pdf:
            pdf.save(path, encryption=lock)
        open_one.unlink()
        return path

    return make


def _handler(entries: bytes) -> Maker:
    def make(path: Path) -> Path:
        raw = Raw()
        number = raw.add(b"<< %s >>" % entries)
        trailer = (
            b"/Encrypt %d 0 R /ID [<00112233445566778899aabbccddeeff> <00112233445566778899aabbccddeeff>]" % number
        )
        return bound(path, raw, content=raw.stream(b"0 g 50 50 100 100 re f"), trailer=trailer)

    return make


FAULTS: dict[str, Maker] = {
    "lock: AES, 256 bits, password not given": _locked(PASSWORD, revision=6),
    "lock: AES, 128 bits, password not given": _locked("weir", revision=4),
    "lock: RC4, 128 bits, password not given": _locked("weir", revision=3),
    "lock: RC4, 40 bits, password not given": _locked("weir", revision=2),
    "lock: by the owner alone, all allowed": _locked("", revision=6, allow=pikepdf.Permissions(modify_assembly=True)),
    "lock: by the owner alone, printing forbidden": _locked(
        "", revision=6, allow=pikepdf.Permissions(print_highres=False, print_lowres=False)
    ),
    "lock: by the owner alone, assembly forbidden": _locked(
        "", revision=6, allow=pikepdf.Permissions(modify_assembly=False, modify_other=False)
    ),
    "lock: by public keys": _handler(
        b"/Filter /Adobe.PubSec /SubFilter /adbe.pkcs7.s5 /V 4 /Length 128 /Recipients []"
    ),
    "lock: an unknown handler": _handler(b"/Filter /Lantern.Lock /V 4 /R 4 /O (x) /U (y) /P -4 /Length 128"),
    "lock: a dictionary of nonsense": _handler(b"/Filter /Standard /V (two) /R [] /O 7 /U null /P /No"),
    "lock: a version of the future": _handler(b"/Filter /Standard /V 9 /R 12 /O (x) /U (y) /P -4 /Length 128"),
}
