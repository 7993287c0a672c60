"""From a key plate to a matte and the subject's own colour.

The fast key is `fast` (and `key_coded`, the same on coded planes); `wedge` is its
range of hues, `clear` tells where it can leave nothing. The fine key is `fine`:
`backing` gives the wall at every pixel, `edge_light` tells how edges were mixed,
`network` the matte where it is neither surely wall nor surely subject, `solid`,
`foreign` and `film` what is full, foreign or tinted, `own_colour`, `between` and
`detail` the subject's colour. `level_key` keys by brightness or by alpha.
"""
