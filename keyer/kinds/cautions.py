"""What is said wherever flashing pictures and stripes can be made, seen or looked for."""

SEIZURES = (
    "Flashing pictures and stripes can trigger seizures in people with photosensitive epilepsy."
)

FAST = "What changes fast can trigger seizures (photosensitive epilepsy): run `keyer check`."
"""Beside what makes a picture change fast."""

CAUTION = (
    f"{SEIZURES} The checks for them are an aid and no clearance: broadcast needs the approved test"
    " that the broadcaster names; local rules go first; and people at risk must be warned before "
    "they see such pictures."
)
"""Beside what was checked."""

UNCHECKED = (
    f"{SEIZURES} Nothing here was checked for them: run 'keyer check' on the sheet before anybody "
    "watches. Local rules and the broadcaster's approved test go first."
)
"""Beside moving pictures that are made without a check."""

LOOPED = "It plays in a loop: what flashes in it never stops."
"""Beside animated pictures."""
