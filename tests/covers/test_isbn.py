# SPDX-License-Identifier: AGPL-3.0-or-later
"""ISBN arithmetic, held against worked examples of others and against an independent writer of codes."""

from __future__ import annotations

import pytest
import zxingcpp

from foldproof.covers.isbn import as_ean, bare, ean_check_digit, isbn10_check_digit
from tests.covers.building import EAN, ISBN, OTHER_EAN

#: numbers that are worked through step by step in general works of reference on the ISBN and the EAN (from memory):
#: 306-40615 with the check digits 2 (of ten) and 7 (of thirteen); 8044-2957 with X; 11-000222 in the manual of ISO 2108
TEN = {"030640615": "2", "080442957": "X"}
THIRTEEN = {"978030640615": "7", "978011000222": "4", "590123412345": "7"}


@pytest.mark.parametrize(("nine", "digit"), TEN.items())
def test_the_tenth_digit_of_worked_examples(nine: str, digit: str) -> None:
    assert isbn10_check_digit(nine) == digit


@pytest.mark.parametrize(("twelve", "digit"), THIRTEEN.items())
def test_the_thirteenth_digit_of_worked_examples(twelve: str, digit: str) -> None:
    assert ean_check_digit(twelve) == digit


def test_the_number_of_the_test_covers_by_hand() -> None:
    # 1 x (9 + 8 + 2 + 4 + 6 + 8) + 3 x (7 + 1 + 3 + 5 + 7 + 9) = 37 + 96 = 133; 7 is wanting to 140
    assert sum(map(int, "982468")) + 3 * sum(map(int, "713579")) == 133
    assert ean_check_digit(EAN[:12]) == "7" == EAN[12]
    # 133 - 3 x 9 + 3 x 8 = 130
    assert ean_check_digit(OTHER_EAN[:12]) == "0" == OTHER_EAN[12]


@pytest.mark.parametrize("twelve", ["978123456789", "979000000001", "978999999999", "978000000000", "400000000000"])
def test_an_independent_writer_reckons_the_same_digit(twelve: str) -> None:
    written = zxingcpp.create_barcode(twelve, zxingcpp.BarcodeFormat.EAN13).text
    assert written == twelve + ean_check_digit(twelve)


@pytest.mark.parametrize(
    "text",
    [
        "978-0-306-40615-7", "9780306406157", "978 0 306 40615 7", "ISBN 978-0-306-40615-7", "0-306-40615-2",
        "ISBN-10: 0-306-40615-2", "isbn-13 978\u20110\u2011306\u201140615\u20117", "ISBN: 0306406152",
    ],
)  # fmt: skip
def test_every_way_to_write_it_is_one_number(text: str) -> None:
    assert as_ean(text) == "9780306406157"


def test_ten_digits_with_an_x() -> None:
    assert as_ean("0-8044-2957-x") == "978080442957" + ean_check_digit("978080442957")
    assert bare("ISBN 0-8044-2957-x") == "080442957X"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("978-0-306-40615-8", "last digit is 8; by the other twelve it must be 7"),
        ("0-306-40615-3", "last digit is 3; by the other nine it must be 2"),
        ("977-0-306-40615-0", "begins with 977"),
        ("978-0-306-4061-7", "12 digits"),
        ("", "other signs"),
        ("978-0-306-40615-X", "other signs"),
        ("٩٧٨٠٣٠٦٤٠٦١٥٧", "other signs"),
        ("to follow", "other signs"),
    ],
)
def test_what_is_no_isbn_says_why(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        as_ean(text)


def test_every_single_wrong_digit_is_found() -> None:
    """That is what the check digit is for (ISO 2108: any single error, from memory)."""
    digits = bare(ISBN)
    for place in range(3, 13):
        for digit in "0123456789":
            if digit != digits[place]:
                with pytest.raises(ValueError, match="must be"):
                    as_ean(digits[:place] + digit + digits[place + 1 :])
