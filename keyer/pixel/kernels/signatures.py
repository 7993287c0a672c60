"""What the kernels of the product are called with; how to read it, `compiling` says.

Kernels that others call are compiled with these.
"""

from __future__ import annotations

SIGNATURES: dict[str, tuple[str, ...]] = {
    "keyer.measure.cells._reduce": ("f4:2 i8 i8 i8 i8 f4:2",),
    "keyer.measure.flash._swing": ("f4:1 f4:1 f4:1 i1:1 b1:1",),
    "keyer.measure.levels._limits": ("f4:3 (f4 f4 f4) (i8 i8) (i8 i8) f4:2 f4:2",),
    "keyer.measure.levels._outside": ("f4:3 (f4 f4 f4) (f4 f4) i8 i8:1 u1:2",),
    "keyer.measure.red_transitions._red_steps": ("f4:1 b1:1 f4:1 f4:1 b1:1 b1:1 i1:1 b1 f4:1",),
    "keyer.measure.red_transitions._settle_red": ("f4:1 b1:1 f4:1 f4:1 f4:1 b1:1 b1:1",),
    "keyer.measure.red_transitions._turn_colour": ("f4:2 b1:1 f4:1 f4:1 i1:1 f4:1",),
    "keyer.measure.screen._shown": ("f4:1 f4:1 f4:1 f4:1 f4:1 f4:1",),
    "keyer.measure.stripe_lines._hang_together": ("f4:2 f4:2 u1:2 f8 f4:2 u1:2",),
    "keyer.measure.stripe_lines._trace": ("f4:2 f4:2 f4:2 u1:2 f4:1",),
    "keyer.measure.stripe_meter._move": ("f4:1 u1:1 f4:1 u1:1 f4:1 f4:1 f4:1 i1:1 u1:1",),
    "keyer.measure.stripe_wheels._vote": ("f4:2 f4:2 f4:2 i4:2 i4:2",),
    "keyer.measure.transitions._light_steps": ("f4:1 f4:1 f4:1 i1:1 f4:1",),
    "keyer.measure.transitions._share_out": ("f4:2 f4:2 f4:2 f4:2 f4:2 f4:2 i1:2 f4:2",),
    "keyer.pixel.colour.correct._stretch": ("f4:1 f4 f4 f4",),
    "keyer.pixel.colour.correct._turn": ("f4:1 f4:1 f4:1 (f4 f4 f4 f4 f4 f4 f4 f4 f4)",),
    "keyer.pixel.colour.decode_ycc._decode_rows": (
        (
            "u1:2 u1:2 u1:2 i8 i8 i8 i8 f4 f4 keyer.pixel.colour.decode_ycc.Weights(f4 f4 f4 "
            "f4 f4 f4 f4) f4:2 f4:2 f4:2"
        ),
        (
            "u2:2 u2:2 u2:2 i8 i8 i8 i8 f4 f4 keyer.pixel.colour.decode_ycc.Weights(f4 f4 f4 "
            "f4 f4 f4 f4) f4:2 f4:2 f4:2"
        ),
    ),
    "keyer.pixel.colour.encode_ycc._encode_rows": (
        (
            "f4:2 f4:2 f4:2 i8 i8 i8 keyer.pixel.colour.encode_ycc.Weights(f4 f4 f4 f4 f4) "
            "keyer.pixel.colour.encode_ycc.CodeLimits(f4 f4 f4 f4 f4 f4) u1:2 u1:2 u1:2"
        ),
        (
            "f4:2 f4:2 f4:2 i8 i8 i8 keyer.pixel.colour.encode_ycc.Weights(f4 f4 f4 f4 f4) "
            "keyer.pixel.colour.encode_ycc.CodeLimits(f4 f4 f4 f4 f4 f4) u2:2 u2:2 u2:2"
        ),
    ),
    "keyer.pixel.colour.load._from_codes": (
        "u1:1 f4 f4:1",
        "u2:1 f4 f4:1",
    ),
    "keyer.pixel.colour.load._to_codes": (
        "f4:1 f4 u1:1",
        "f4:1 f4 u2:1",
    ),
    "keyer.pixel.colour.transfer._to_light": ("f4:1 f4:1",),
    "keyer.pixel.colour.transfer._to_signal": ("f4:1 f4:1",),
    "keyer.pixel.compose.codes._blend_tiles": ("u1:2 u1:2 f4:2 f4:1 f4:1 i4:1 i8 i8 i8 i8 u1:2",),
    "keyer.pixel.compose.codes._copy_tiles": ("u1:2 u1:2 i4:2 i8 i8 i8 u1:2",),
    "keyer.pixel.compose.codes._key_all": (
        (
            "u1:1 u1:1 u1:1 u1:1 u1:1 u1:1 keyer.pixel.keys.fast.Constants((f4 f4 f4) (f4 f4 "
            "f4) f4 f4 f4 f4 (f4 f4 f4) (f4 f4 f4) f4) f4 u1:1 u1:1 u1:1"
        ),
    ),
    "keyer.pixel.compose.codes._mix_all": ("u1:1 u1:1 f4 u1:1",),
    "keyer.pixel.compose.mix._brighter": ("f4:1 f4:1 f4",),
    "keyer.pixel.compose.mix._toward": ("f4:1 f4 f4",),
    "keyer.pixel.compose.mix._weighted": ("f4:1 f4:1 f4",),
    "keyer.pixel.compose.over._divide": ("f4:1 f4:1",),
    "keyer.pixel.compose.over._multiply": ("f4:1 f4:1",),
    "keyer.pixel.compose.over._over": ("f4:1 f4:1 f4:1",),
    "keyer.pixel.compose.over._scale": ("f4:1 f4",),
    "keyer.pixel.compose.stack.colour_clear": ("f4:3 f4:2 f4:1 i8 i8 i8 i8",),
    "keyer.pixel.compose.stack.lay_flat": ("f4:3 f4:2 f4:2 f4:1 f4 i8 i8",),
    "keyer.pixel.compose.stack.lay_picture": ("f4:3 f4:2 f4:2 f4:3 f4 i8 i8",),
    "keyer.pixel.compose.stack.lay_ramp": ("f4:3 f4:2 f4:2 f4:2 f4:1 f4:1 f4 i8 i8",),
    "keyer.pixel.compose.stack.straighten_stack": ("f4:3 f4:2",),
    "keyer.pixel.keys.between._between": ("f4:2 f4:2 f4:2 u1:1 f4:3 f4:1",),
    "keyer.pixel.keys.clear._unclear": ("u1:2 u1:2 f4 f4 f4 f4 f4 i8:2",),
    "keyer.pixel.keys.detail._add": ("f4:1 f4:1 u1:1",),
    "keyer.pixel.keys.fast._clip_gain": ("f4:1 f4 f4",),
    "keyer.pixel.keys.fast._signal": ("f4:1 f4:1 f4:1 (f4 f4 f4) (f4 f4 f4) f4 f4 f4:1",),
    "keyer.pixel.keys.fast.matte_of": ("f4:1 f4:1 f4:1 (f4 f4 f4) (f4 f4 f4) f4 f4 f4 f4 f4:1",),
    "keyer.pixel.keys.fast.take_from": (
        "f4:1 f4:1 f4:1 f4:1 (f4 f4 f4) (f4 f4 f4) (f4 f4 f4) (f4 f4 f4) f4",
    ),
    "keyer.pixel.keys.key_coded._key_rows": (
        (
            "(u1:2 u1:2 u1:2) (u1:2 u1:2 u1:2) (u1:2 u1:2 u1:2) i8:2 i8 i8 i8 i8 (f4 f4) (f4 "
            "f4) keyer.pixel.colour.decode_ycc.Weights(f4 f4 f4 f4 f4 f4 f4) "
            "keyer.pixel.colour.decode_ycc.Weights(f4 f4 f4 f4 f4 f4 f4) "
            "keyer.pixel.keys.fast.Constants((f4 f4 f4) (f4 f4 f4) f4 f4 f4 f4 (f4 f4 f4) (f4 "
            "f4 f4) f4) f4 keyer.pixel.colour.encode_ycc.Weights(f4 f4 f4 f4 f4) "
            "keyer.pixel.colour.encode_ycc.CodeLimits(f4 f4 f4 f4 f4 f4)"
        ),
    ),
    "keyer.pixel.keys.level_key._luma": ("f4:1 f4:1 f4:1 f4 f4 f4 f4:1",),
    "keyer.pixel.keys.level_key._turn_over": ("f4:1",),
    "keyer.pixel.keys.own_colour._own_colour": (
        "f4:2 f4:2 f4:2 f4:1 f4:1 f4:1 f4 f4:3 f4:1 f4:1 f4:1 f4 f4:2",
    ),
    "keyer.pixel.wipes.background._add_noise": ("f4:1 f4:3 f4 f4 f4 f4 f4 i8 f4:1",),
    "keyer.pixel.wipes.background._add_sine": ("f4:1 f4 f4 f4 f4",),
    "keyer.pixel.wipes.background._colour": ("f4:2 f4:2 f4:1 f4:2 f4 f4:2 f4:2 i8 f4:3",),
    "keyer.pixel.wipes.background._table": ("f4:2 f4:1 f4 f4:2",),
    "keyer.pixel.wipes.blocks._extremes": ("f4:2 f4:2 f4:2",),
    "keyer.pixel.wipes.blocks._gather": ("f4:2 i8 i4:1 f4:3",),
    "keyer.pixel.wipes.blocks._number": ("f4:2 f4:2 f4 i4:2 i4:1",),
    "keyer.pixel.wipes.contour._segments": ("f4:2 i4:1 f4 f4:2",),
    "keyer.pixel.wipes.displace._block_most": ("f4:2 f4:2",),
    "keyer.pixel.wipes.displace._displace": ("f4:2 f4:2 f4:2 i4:1 i8 f4:1 f4:1 f4:3 i8 i8 f4:3",),
    "keyer.pixel.wipes.displace._join": ("i4:2 i4:1 f4:3",),
    "keyer.pixel.wipes.fields.angles._turns": ("f4:1 f4:1 f4:1 f4:1",),
    "keyer.pixel.wipes.fields.cells._cross": ("f4:2 f4:2 f4 f4 f4:2 f4:2 f4:2 f4:2 f4:2",),
    "keyer.pixel.wipes.fields.jumps._steep": ("f4:2 i8 i8 i8 i8 i4:2",),
    "keyer.pixel.wipes.fields.picture._read": ("f4:2 f4:1 f4:1 f4:1",),
    "keyer.pixel.wipes.fields.polygons._scales": ("f4:1 f4:1 f4:2 f4:1",),
    "keyer.pixel.wipes.fields.swing._swing": ("f4:2 u1:2 u1:2 f4 f4 f4 f4:2",),
    "keyer.pixel.wipes.noise.noise_line": ("f4:3 f4 f4 f4 f4 f4:1",),
    "keyer.pixel.wipes.trace._follow": (
        (
            "keyer.pixel.wipes.trace._Field(i4:2 i4:1 f4:3 i4:2 u1:4 f4 f4 i1:2 i8 i8) i4:2 "
            "u1:2 u1:2 f4:2 i4:1"
        ),
    ),
    "keyer.pixel.wipes.wipe._blend": ("f4:3 f4:2 f4:3 f4:2 f4:2 i4:1 i8 i8 f4:3",),
    "keyer.pixel.wipes.wipe._copy": ("f4:3 i4:2 i8 f4:3",),
    "keyer.pixel.wipes.wipe._spread": ("f4:2 f4 f4 i4:2 i8 f4:2",),
    "keyer.pixel.wipes.wipe_state._deal": ("f4:2 f4 f4 i8 i8 i4:1 i4:1",),
    "keyer.pixel.wipes.wipe_weights._weights": (
        (
            "keyer.pixel.wipes.wipe_weights._Near(i4:2 f4:3 f4 i8 i8) f4:2 i4:1 i4:1 f4 f4 f4 "
            "f4 i8 i8 i8 i4:2 f4:3"
        ),
    ),
}
