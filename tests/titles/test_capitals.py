"""Capitals as a language writes them."""

import pytest

from keyer.titles.capitals import capitals


@pytest.mark.parametrize(
    ("text", "language", "expected"),
    [
        ("Straße fi ﬁ", "", "STRASSE FI FI"),
        ("ilik ılık", "", "ILIK ILIK"),
        # SpecialCasing.txt: i to U+0130 in tr and az; ı to I everywhere
        ("ilik ılık", "tr", "İLİK ILIK"),
        ("ilik ılık", "tr-TR", "İLİK ILIK"),
        ("Bakı şəhəri", "az", "BAKI ŞƏHƏRİ"),
        ("ilik", "sr", "ILIK"),
        # SpecialCasing.txt: U+0307 after a soft-dotted letter goes in lt
        ("i\u0307\u0301 j\u0307\u0303", "lt", "Í J\u0303"),
        ("i\u0307", "", "İ"),
        # CSS Text Module Level 3, 2.1.1, and the test page of its Greek rules
        ("καλημέρα αύριο", "el", "ΚΑΛΗΜΕΡΑ ΑΥΡΙΟ"),
        ("Μάιος", "el", "ΜΑΪΟΣ"),
        ("άυλος", "el", "ΑΫΛΟΣ"),
        ("αλήθεια", "el", "ΑΛΗΘΕΙΑ"),
        ("πρωτεΐνη", "el", "ΠΡΩΤΕΪΝΗ"),
        ("το ένα ή το άλλο.", "el", "ΤΟ ΕΝΑ Ή ΤΟ ΑΛΛΟ."),
        ("η μήτηρ", "el", "Η ΜΗΤΗΡ"),
        ("Νεράιδα", "el", "ΝΕΡΑΪΔΑ"),
        ("Café Åse", "el", "CAFÉ ÅSE"),
        ("ά", "", "Ά"),
    ],
)
def test_capitals(text, language, expected):
    assert capitals(text, language) == expected
