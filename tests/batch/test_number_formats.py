"""What a person sees in a cell: the format codes of ECMA-376 Part 1, 18.8.31."""

import pytest

from keyer.batch.number_formats import BUILT_IN, show_number, show_text

# 46 239 days after 30 December 1899 is 5 August 2026, a Wednesday; by datetime
DAY = 46_239
EVENING = DAY + (20 * 3600 + 15 * 60 + 30) / 86_400


@pytest.mark.parametrize(
    ("value", "code", "text"),
    [
        (7, "General", "7"),
        (7.0, "000", "007"),
        (-7, "0", "-7"),
        (-0.2, "0", "0"),
        (2.5, "0", "3"),  # half away from zero, as spreadsheets round
        (0.45, "0%", "45%"),
        (12, '0" km"', "12 km"),
        (12, 'General" km"', "12 km"),
        (12, r"0\ \k\m", "12 km"),
        (3, "[Red]0;[Blue]-0", "3"),
        (-3, "0;(0)", "(3)"),
        (0, '0;-0;"none"', "none"),
        (5, ";;;", ""),
        (49301234567, "General", "49301234567"),
        (301234567, "000-000-000", "301-234-567"),
        (1301234567, "000-000-000", "1301-234-567"),
        (999, "#,##0", "999"),
        (12, "[$€-407] 0", "€ 12"),
        (12, "_-* 0_-", "12"),
        (12_000_000, '0,,"M"', "12M"),
        (7, "@", "7"),
        (DAY, "dd.mm.yyyy", "05.08.2026"),
        (DAY, "d/m/yy", "5/8/26"),
        (DAY, "yyyy-mm-dd", "2026-08-05"),
        (DAY, "[$-409]d mmmm yyyy", "5 August 2026"),
        (DAY, "[$-809]ddd d mmm", "Wed 5 Aug"),
        (EVENING, "h:mm", "20:15"),
        (EVENING, "hh:mm:ss AM/PM", "08:15:30 PM"),
        (0.5, "h AM/PM", "12 PM"),
        (1.25, "[h]:mm", "30:00"),
        (90 / 86_400, "mm:ss", "01:30"),
        (EVENING, "dd.mm. h:mm", "05.08. 20:15"),
        (59.9999 / 86_400, "mm:ss", "01:00"),
    ],
)
def test_numbers(value, code, text):
    shown = show_number(value, code)
    assert (shown.text, shown.doubt) == (text, "")


@pytest.mark.parametrize(
    ("value", "code", "text", "why"),
    [
        (12.5, "General", "12.5", "point or a comma"),
        (12.5, "0.00", "12.50", "point or a comma"),
        (12.5, "0.0#", "12.5", "point or a comma"),
        (0.125, "0.0%", "12.5%", "point or a comma"),
        (1234, "#,##0", "1234", "point or a comma"),
        (491701234567, "General", "491701234567", "power of ten"),
        (12.5, "# ?/?", "12.5", "does not read"),
        (12, "0.0E+00", "12", "does not read"),
        (12, "[>9]0", "12", "does not read"),
        (12, "[DBNum1]0", "12", "does not read"),
        (DAY, "d mmmm", "46239", "machine's language"),
        (DAY, "[$-407]d. mmmm", "46239", "machine's language"),
        (DAY, "[$-F800]dddd, mmmm dd, yyyy", "46239", "machine's settings"),
        (DAY, "mm:ss.0", "46239", "point or a comma"),
        (30, "dd.mm.yyyy", "30", "two ways"),
        (-1, "dd.mm.yyyy", "-1", "outside"),
        (3e6, "dd.mm.yyyy", "3000000", "outside"),
    ],
)
def test_what_a_file_cannot_tell(value, code, text, why):
    shown = show_number(value, code)
    assert shown.text == text
    assert why in shown.doubt


def test_days_from_1904():
    """1 462 days lie between both beginnings (18.17.4.1)."""
    assert show_number(DAY - 1462, "dd.mm.yyyy", from_1904=True).text == "05.08.2026"


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("General", "Ines"),
        ("000", "Ines"),
        ("@", "Ines"),
        ('"Dr "@', "Dr Ines"),
        ('0;0;0;"guest: "@', "guest: Ines"),
        (";;;", ""),
    ],
)
def test_texts(code, text):
    shown = show_text("Ines", code)
    assert (shown.text, shown.doubt) == (text, "")


def test_formats_known_by_number_are_read():
    for code in BUILT_IN.values():
        assert "does not read" not in show_number(1, code).doubt
