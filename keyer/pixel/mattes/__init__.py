"""What is done to a matte by hand, in the order of docs/keying.md.

`masks` decide parts of it, `finish` fills, drops, grows and feathers, `refill`
gives colour where it was raised, `shadow` keeps the subject's shadow. `regions`
and `push_pull` are what these and the fine key are made with.
"""
