"""The survey of a plate as a whole."""

import json

import pytest
from plates.portrait import eyes, portrait, product, scarf
from plates.proof import BLUE

from keyer.errors import NoBackingError, SettingError
from keyer.measure.survey import survey_plate


@pytest.mark.parametrize(("paint", "hangs"), [(eyes, "blue"), (scarf, "blue"), (product, "blue")])
def test_a_clash_is_told_with_its_share_and_a_better_backing(paint, hangs):
    plate, matte, marks = portrait(paint=paint)
    found = survey_plate(plate, "bt709")
    true = 100 * marks.sum() / (matte > 0.5).sum()
    assert found.subject.clash_percent == pytest.approx(true, rel=0.12)
    assert found.subject.best == hangs
    assert any(f"{found.subject.clash_percent:.1f} % of the subject" in s for s in found.reasons)
    verdicts = {verdict.measure: verdict for verdict in found.verdicts}
    assert verdicts["subject.clash"].verdict != "holds"
    assert f"hang a {hangs} backing" in verdicts["subject.clash"].remedy


def test_a_good_plate_holds_throughout_and_is_plain_data():
    plate, matte, _ = portrait(BLUE)
    found = survey_plate(plate, "bt709")
    assert {verdict.verdict for verdict in found.verdicts} == {"holds"}
    assert len(found.verdicts) == 5
    data = json.loads(json.dumps(found.as_dict(), allow_nan=False))
    assert data["subject"]["share_percent"] == pytest.approx(100 * matte.mean(), rel=0.12)
    assert data["shadows"] == {"share_percent": 0.0, "depth_stops": 0.0}


def test_a_narrower_angle_takes_less():
    plate, _, _ = portrait(paint=scarf)
    wide, narrow = (survey_plate(plate, "bt709", acceptance_deg=a) for a in (120.0, 50.0))
    assert narrow.subject.clash_percent < 0.1 * wide.subject.clash_percent


def test_where_to_look_is_handed_on():
    plate, _, _ = portrait()
    assert (
        survey_plate(plate, "bt709", sample=(4, 4, 20, 20)).backing.reasons[0].endswith("pixels.")
    )
    with pytest.raises(NoBackingError):
        survey_plate(plate, "bt709", hue="blue")
    with pytest.raises(SettingError, match="acceptance"):
        survey_plate(plate, "bt709", acceptance_deg=5)
