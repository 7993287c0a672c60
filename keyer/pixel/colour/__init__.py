"""Colour: samples to R'G'B' and back, luma and chroma, signal and light.

`load` is the one place that converts depth; `decode_ycc` and `encode_ycc` take
and give Y'CbCr planes, `sampling` tells how their chroma was sampled; `transfer`
and `hdr` go between signal and light, `luma_chroma` between R'G'B' and luma and
hue, `correct` sets levels and balance. `weigh` sums planes with weights,
`false_colour` shows numbers in colours.
"""
