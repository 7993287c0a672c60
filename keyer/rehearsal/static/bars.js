// The bars of the rows, to scale in time: their shapes, and what a hand drags of them.

import { beside, draggable, el, fresh, svg } from "./dom.js";
import { answered, edit } from "./link.js";
import { go, now, row as rowOf, value } from "./state.js";
import { eased, framesOf, timecode } from "./time.js";
import { faultOf, typeable } from "./typed.js";

export function frameAt(event, lane) {
  const box = lane.getBoundingClientRect();
  return ((event.clientX - box.left) / box.width) * now.sheet.facts.length;
}

// The wave of a sound, on its bar, and where its file ends; tells whether it is new.
const waves = new Map();

export async function wave(row) {
  const of = now.sheet.sound;
  const held = waves.get(row.id);
  if (held?.of === of) return false;
  waves.set(row.id, { ...held, of, stop: Infinity });
  const answer = await answered(`/wave/${row.index}`);
  if (answer.ok && waves.get(row.id).of === of) waves.set(row.id, { of, ...(await answer.json()) });
  return answer.ok;
}

// A sound without an out is heard until its file ends.
export function heard(row) {
  const held = waves.get(row.id);
  const stop = Math.min(row.stop, held?.of === now.sheet.sound ? held.stop : Infinity);
  row.leave.start += stop - row.stop;
  row.stop = stop;
  row.out = timecode(stop, now.sheet.facts);
}

// A bar as high as its event is there: its transitions as they run.
export function bar(row) {
  const { length } = now.sheet.facts;
  const at = (frame) => (100 * frame) / length;
  const picture = svg("svg", { viewBox: "0 0 100 100", preserveAspectRatio: "none", "aria-hidden": "true" });
  const points = [];
  const rise = (part, up) => {
    for (let n = 0; n <= 10; n += 1) {
      const share = n / 10;
      const reached = eased(part.curve, share);
      points.push([at(part.start + share * part.length), up ? 82 - 64 * reached : 18 + 64 * reached]);
    }
  };
  if (row.kind === "cue") {
    const width = at(row.stop) - at(row.start);
    picture.append(svg("rect", { class: "base", x: at(row.start), y: 18, width, height: 64 }));
    if (row.enter.length) {
      rise(row.enter, true);
      points.push([at(row.start + row.enter.length), 82]);
      picture.append(svg("polygon", { class: "ramp", points: points.map((p) => p.join()).join(" ") }));
    }
    return picture;
  }
  points.push([at(row.start), 82]);
  rise(row.enter, true);
  if (row.leave) rise({ ...row.leave, start: Math.max(row.leave.start, row.start) }, false);
  points.push([at(row.stop), 82]);
  const kind = row.kind === "sound" ? "sound" : row.keyed ? "keyed" : "body";
  const trace = row.kind === "sound" ? (waves.get(row.id)?.peaks ?? []) : [];
  picture.append(svg("polygon", { class: kind, points: points.map((p) => p.join()).join(" ") }));
  if (trace.length) {
    const x = (n) => at(row.start) + ((at(row.stop) - at(row.start)) * (n + 0.5)) / trace.length;
    const half = (sign) => trace.map((peak, n) => `${x(n).toFixed(3)},${(50 + sign * 32 * peak).toFixed(2)}`);
    picture.append(svg("polygon", { class: "wave", points: [...half(1), ...half(-1).reverse()].join(" ") }));
  }
  return picture;
}

// Keyframes of a row's own, of its place and of its shapes: where each is, and the path of its time.
function marks(row) {
  const of = (moves, path) => (moves ?? []).map(({ at }, n) => ({ at, path: `${path}.keyframes[${n}].at` }));
  const placed = (value(`${row.id}.placement`, "keyframes") ?? []).length === row.moves?.length ? of(row.moves, `${row.id}.placement`) : [];
  const written = ({ list }) => now.sheet.settings?.[`${row.id}.key`]?.[list]?.origin === "own";
  return [...placed, ...(row.masks ?? []).filter(written).flatMap((one) => of(one.moves, `${row.id}.key.${one.list}[${one.index}]`))];
}

const keyed = (row, by, n) => [[marks(row)[n].path, marks(row)[n].at - row.start + by]];

// What a drag of one end or of the whole changes, in frames of the sheet.
const MOVES = {
  cue: {
    key: keyed,
    whole: (row, by) => [[`${row.id}.at`, row.start + by]],
    length: (row, by) => [[`${row.id}.transition.length`, Math.max(row.enter.length + by, 1)]],
  },
  overlay: {
    key: keyed,
    start: (row, by) => [[`${row.id}.in`, row.start + by]],
    stop: (row, by) => [[`${row.id}.out`, row.stop + by]],
    whole: (row, by) => [[`${row.id}.in`, row.start + by], [`${row.id}.out`, row.stop + by]],
    length: (row, by) => [[`${row.id}.transition_in.length`, Math.max(row.enter.length + by, 1)]],
    leaving: (row, by) => [[`${row.id}.transition_out.length`, Math.max(row.leave.length - by, 1)]],
  },
  sound: {
    start: (row, by) => {
      const most = Math.max(by, -row.first, -row.start);
      return [[`${row.id}.at`, row.start + most], [`${row.id}.in`, row.first + most]];
    },
    stop: (row, by) => [[`${row.id}.out`, row.first + Math.max(row.stop + by - row.start, 1)]],
    whole: (row, by) => [[`${row.id}.at`, Math.max(row.start + by, 0)]],
    length: (row, by) => [[`${row.id}.fade_in`, Math.max(row.enter.length + by, 0)]],
    leaving: (row, by) => [[`${row.id}.fade_out`, Math.max(row.leave.length - by, 0)]],
  },
};

const SAID = {
  whole: "moved",
  start: "in",
  stop: "out",
  length: "length of the transition",
  leaving: "length of the transition out",
  key: "a keyframe",
};

function grip(row, what, frame, label) {
  const { length } = now.sheet.facts;
  const handle = el("button", {
    type: "button",
    class: what === "whole" ? "whole" : what.startsWith("key") ? "grip keyframe" : "grip",
    "data-what": what,
    title: label,
    "aria-label": `${row.name}: ${label}`,
  });
  const change = (by, from, gesture) => {
    const [way, n] = what.split(":");
    const edits = MOVES[row.kind][way](from, by, Number(n)).map(([path, value]) => ({ act: "set", path, value }));
    return edit(edits, `${row.name}: ${SAID[way]}`, gesture);
  };
  draggable(handle, {
    box: () => handle.parentElement,
    start: () => ({ row: structuredClone(rowOf(row.id)), gesture: fresh(what), told: el("span", { class: "told" }), by: 0 }),
    move: (held, x, y, event) => {
      const by = Math.round(x * length);
      if (by === held.by) return;
      held.by = by;
      beside(held.told, event, `${by >= 0 ? "+" : ""}${by} frames, ${timecode(frame + by, now.sheet.facts)}`);
      go(frame + by);
      change(by, held.row, held.gesture);
    },
    end: (held, event) => {
      held.told.remove();
      if (!held.by && event.type === "pointerup") {
        go(what === "whole" ? frameAt(event, handle.parentElement) : frame);
        if (what === "whole") handle.focus();
      }
    },
  });
  const length_ = what === "length" || what === "leaving";
  typeable(handle, {
    words: () => {
      const held = rowOf(row.id);
      if (length_) return String((what === "length" ? held.enter : held.leave).length);
      return timecode(standing(what)(held), now.sheet.facts);
    },
    take: async (text) => {
      const held = rowOf(row.id);
      const { facts } = now.sheet;
      const stands = length_ ? (what === "length" ? held.enter : held.leave).length : standing(what)(held);
      const wanted = framesOf(text, length_ ? { ...facts, start: 0 } : facts, stands);
      if (wanted === null) return "Type frames, seconds (2.5s), timecode, or +5 and -5.";
      if (!length_) go(wanted);
      return faultOf(await change(what === "leaving" ? stands - wanted : wanted - stands, held));
    },
  });
  handle.addEventListener("keydown", (event) => {
    const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (!by) return;
    event.preventDefault();
    event.stopPropagation();
    change(event.shiftKey ? by * now.sheet.facts.count : by, rowOf(row.id), `${what}-${row.id}`);
  });
  return handle;
}

export function grips(row) {
  const found = [grip(row, "whole", row.start, "move it")];
  if (row.kind !== "cue") {
    found.push(grip(row, "start", row.start, "in"), grip(row, "stop", row.stop, "out"));
  }
  if (row.enter.length) found.push(grip(row, "length", row.start + row.enter.length, "length of the transition"));
  if (row.leave?.length) found.push(grip(row, "leaving", row.leave.start, "length of the transition out"));
  marks(row).forEach(({ at }, n) => found.push(grip(row, `key:${n}`, at, `keyframe ${n + 1}`)));
  return found;
}

// Where each grip of a row stands, in frames of the sheet.
const STANDS = {
  whole: (row) => row.start,
  start: (row) => row.start,
  stop: (row) => row.stop,
  length: (row) => row.start + row.enter.length,
  leaving: (row) => row.leave.start,
};
const standing = (what) => (what.startsWith("key:") ? (row) => marks(row)[Number(what.slice(4))].at : STANDS[what]);

export function place(lane, row) {
  const { length } = now.sheet.facts;
  for (const one of lane.querySelectorAll("[data-what]")) {
    one.style.left = `${(100 * standing(one.dataset.what)(row)) / length}%`;
    if (one.dataset.what === "whole") one.style.width = `${(100 * (row.stop - row.start)) / length}%`;
  }
}
