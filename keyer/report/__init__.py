"""What a rendered sheet amounts to: checks, and documents about them.

In rooms: `checks` walks over every frame and finds what will not pass; `boards`
are storyboards and variations; `plates` surveys a key plate and shows a key's
steps; `cue_sheets` has a row for each event; `versions` approves, compares,
converts and remakes. `report` puts a spot on one page. `paper` draws in
millimetres, `page` writes HTML; `words` says settings as the trade says them, for both.
"""
