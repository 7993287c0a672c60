from report.made_spot import TEXT

from keyer.report.boards.story import StoryFrame, story_frames
from keyer.report.words import Setting
from keyer.sheet.load import parse_sheet

HEAD = 'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 100\n[sources.a]\nramp = true\n'


def _story(text):
    return {one.frame: one for one in story_frames(parse_sheet(text))}


def test_a_frame_at_every_cue_half_way_at_the_end_and_the_last():
    """Fade of 10 from 0; wipe of 20 from 25; overlay in at 50, out over 70 to 75; cut at 75."""
    assert list(_story(TEXT)) == [0, 5, 10, 25, 35, 45, 50, 72, 75, 99]


def test_a_cue_says_its_name_and_what_to_set():
    one = _story(TEXT)[25]
    assert one.heads == ("Cue 2: The jetty",)
    assert [setting.text for setting in one.settings] == [
        "Wipe, 20 frames",
        "SMPTE 201 clockWipe/clockwiseTwelve",
        "Soft edge 2 %",
        "Border 3 % #FFC83D",
        "On the oars",
    ]
    assert one.settings[3].colour == "#FFC83D"


def test_half_way_and_in_full_a_cue_has_its_name_too():
    story = _story(TEXT)
    assert story[35].heads == ("Wipe to The jetty, half way",)
    assert story[45].heads == ("The jetty in full",)


def test_what_falls_on_one_frame_is_one_picture():
    text = HEAD + (
        '[[cues]]\nsource = "a"\n[[overlays]]\nsource = "a"\nname = "Rain"\nin = 0\nopacity = 0.5\n'
    )
    assert _story(text) == {
        0: StoryFrame(0, ("Cue 1: a", "Rain is in"), (Setting("Cut"),)),
        99: StoryFrame(99, ("Last frame",)),
    }


def test_a_fade_to_a_colour_is_told():
    text = HEAD + (
        '[[cues]]\nsource = "a"\n[[cues]]\nat = 80\n'
        'transition = { kind = "fade", length = 20, colour = "#FFFFFF" }\n'
    )
    story = _story(text)
    assert story[90].heads == ("Fade to #FFFFFF, half way",)
    assert 100 not in story
    assert list(story)[-1] == 99


def test_a_title_is_shown_half_way_through_the_steps_of_its_build(tmp_path):
    (tmp_path / "card.toml").write_text(
        'name = "Card"\n[styles.s]\n[[boxes]]\nid = "words"\nplace = "left"\n'
        '[[boxes.texts]]\ntext = "Ferry"\nstyle = "s"\n'
        '[[build]]\nparts = ["words"]\nat = 4\nlength = 10\nkind = "wipe"\n'
        '[[leave]]\nparts = ["words"]\nlength = 6\n',
        encoding="utf-8",
    )
    text = HEAD + (
        '[sources.card.title]\ndesign = "card.toml"\n[[cues]]\nsource = "a"\n'
        '[[overlays]]\nsource = "card"\nin = 20\nout = 80\n'
    )
    told = {f.frame: f.heads for f in story_frames(parse_sheet(text, folder=tmp_path))}
    # by hand: comes from 24 to 34, is in at 34, goes from 74 to 80
    assert told[29] == ("card comes in: words (wipe)",)
    assert told[34] == ("card is in",)
    assert told[77] == ("card goes out: words (mix)",)


def test_a_crawl_is_shown_in_the_middle_of_its_time(tmp_path):
    """On its first frame it stands outside the picture. Here it is in from 20 to 80."""
    (tmp_path / "news.toml").write_text(
        'name = "News"\n[fields.text]\n[styles.s]\nsize = 9\n[move]\nkind = "crawl"\npixels = 2\n'
        '[[boxes]]\nid = "b"\nplace = "bottom"\n[[boxes.texts]]\ntext = "${text}"\nstyle = "s"\n'
    )
    text = HEAD + (
        '[sources.news.title]\ndesign = "news.toml"\nfields = { text = "Boats" }\n'
        '[[cues]]\nsource = "a"\n[[overlays]]\nsource = "news"\nin = 20\nout = 80\n'
    )
    story = {one.frame: one.heads for one in story_frames(parse_sheet(text, folder=tmp_path))}
    assert story[50] == ("news passes",)
    assert "news is in" not in [head for heads in story.values() for head in heads]
