"""From a pattern to the weights of two pictures.

`fields` is the order in which a pattern uncovers each place; `blocks`, `trace`,
`contour` and `corners` find where it equals the progress, `displace` bends that
boundary, `wipe_state` deals it out to tiles, `wipe_weights` weighs the pixels near
it, `wipe` lays A, B and the border together. `background` draws fields in colours,
`noise` is what waves and looks are roughened with.
"""
