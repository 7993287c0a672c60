// Garbage and hold-in mattes: drawn and moved on the picture, with keyframes where what they mask moves.

import { $, el, svg } from "./dom.js";
import { point } from "./hands.js";
import { edit } from "./link.js";
import { poseAt } from "./moves.js";
import { percent, sketched, sketching } from "./sketch.js";
import { go, now, row as rowOf, value, when } from "./state.js";
import { eased, timecode } from "./time.js";

const NAMES = { garbage: "Garbage matte", hold: "Hold-in matte" };
const round = (one) => Number(one.toFixed(2));

// Views of the picture as recorded, before it is put in its place.
export const asRecorded = () => ["source", "key-signal", "spill"].includes(now.view);

// Shapes are of the picture as it is keyed; where it has been put in a place, they go with it.
export function placing(row) {
  const path = `${row.id}.placement`;
  if (asRecorded() || !now.sheet.settings?.[path]) return { to: (at) => at, from: (at) => at };
  const { position, scale, turn } = poseAt(row, now.frame);
  const { shape } = now.sheet.facts;
  const flip = value(path, "flip") ?? "";
  const across = (["left-right", "both"].includes(flip) ? -scale : scale) / 100;
  const down = (["up-down", "both"].includes(flip) ? -scale : scale) / 100;
  const [cos, sin] = [Math.cos((turn * Math.PI) / 180), Math.sin((turn * Math.PI) / 180)];
  return {
    to: ([x, y]) => {
      const [dx, dy] = [(x - 50) * across * shape, (y - 50) * down];
      return [position[0] + (dx * cos - dy * sin) / shape, position[1] + dx * sin + dy * cos];
    },
    from: ([x, y]) => {
      const [dx, dy] = [(x - position[0]) * shape, y - position[1]];
      return [50 + (dx * cos + dy * sin) / (across * shape), 50 + (dy * cos - dx * sin) / down].map(round);
    },
  };
}

const own = (row, mask) => now.sheet.settings?.[`${row.id}.key`]?.[mask.list]?.origin === "own";
const pathOf = (row, mask) => `${row.id}.key.${mask.list}[${mask.index}]`;
const hereOf = (mask) => mask.moves.findIndex((one) => one.at === now.frame);

// Its numbers at a frame, as keyer reckons them.
function numbersAt(mask, frame) {
  let before = null;
  for (const after of mask.moves) {
    if (after.at > frame) {
      if (!before) break;
      const share = eased(before.curve, (frame - before.at) / (after.at - before.at));
      return before.numbers.map((one, n) => one + (after.numbers[n] - one) * share);
    }
    before = after;
  }
  return before ? before.numbers : mask.numbers;
}

const pairs = (numbers) => numbers.reduce((all, one, n) => (n % 2 ? all[all.length - 1].push(one) : all.push([one]), all), []);
const written = (shape, numbers) => (shape === "polygon" ? pairs(numbers.map(round)) : numbers.map(round));

// A keyframe where the person is, with the numbers given or as the shape stands there.
function keyframe(row, mask, numbers) {
  const place = mask.moves.filter((one) => one.at < now.frame).length;
  const value_ = { at: now.frame - row.start, [mask.shape]: written(mask.shape, numbers) };
  return { place, edits: [{ act: "insert", path: `${pathOf(row, mask)}.keyframes[${place}]`, value: value_ }] };
}

let begun = null;

// Changes a shape: as it stands all along, or at the keyframe here, which is put in first.
function setShape(row, mask, numbers, gesture) {
  const path = pathOf(row, mask);
  const label = `${row.name}: a ${NAMES[mask.list].toLowerCase()}`;
  const set = (where) => edit([{ act: "set", path: `${where}.${mask.shape}`, value: written(mask.shape, numbers) }], label, gesture);
  if (!mask.moves.length) return set(path);
  const here = hereOf(mask);
  if (here >= 0) return set(`${path}.keyframes[${here}]`);
  if (gesture && begun?.gesture === gesture) return set(`${path}.keyframes[${begun.place}]`);
  const { place, edits } = keyframe(row, mask, numbers);
  begun = { gesture, place };
  return edit(edits, label, gesture);
}

// Corners of a rectangle or an ellipse's frame, and its numbers from them.
const frameOf = (shape, [x, y, w, h]) => (shape === "ellipse" ? [x - w / 2, y - h / 2, w, h] : [x, y, w, h]);
const numbersOf = (shape, [l, t, w, h]) => (shape === "ellipse" ? [l + w / 2, t + h / 2, w, h] : [l, t, w, h]);

function outline(mask, numbers, to) {
  const corners = [];
  if (mask.shape === "polygon") corners.push(...pairs(numbers));
  else {
    const [l, t, w, h] = frameOf(mask.shape, numbers);
    const steps = mask.shape === "ellipse" ? 48 : 4;
    for (let n = 0; n < steps; n += 1) {
      const turn = (2 * Math.PI * n) / steps;
      corners.push(mask.shape === "ellipse"
        ? [l + (w / 2) * (1 + Math.cos(turn)), t + (h / 2) * (1 + Math.sin(turn))]
        : [l + (n === 1 || n === 2 ? w : 0), t + (n > 1 ? h : 0)]);
    }
  }
  return svg("polygon", { class: `shape ${mask.list}`, points: corners.map((one) => to(one).join()).join(" ") });
}

// The outlines of a row's shapes, and a handle at every corner.
export function masks(row) {
  const { to, from } = placing(row);
  const [outlines, handles] = [[], []];
  if (value(`${row.id}.placement`, "corners") && !asRecorded()) return [outlines, handles];
  for (const mask of row.masks.filter((one) => one.shape)) {
    const numbers = numbersAt(mask, now.frame);
    outlines.push(outline(mask, numbers, to));
    if (!own(row, mask)) continue;
    const put = (next, gesture) => setShape(row, mask, next, gesture);
    if (mask.shape === "polygon") {
      pairs(numbers).forEach((where, n) => handles.push(point(to(where), `Corner ${n + 1}`, (at, gesture) => put(numbers.toSpliced(2 * n, 2, ...from(at)), gesture), "small")));
      continue;
    }
    const [l, t, w, h] = frameOf(mask.shape, numbers);
    const corner = (at, label, box) => point(to(at), label, (next, gesture) => put(numbersOf(mask.shape, box(from(next))), gesture), "small");
    handles.push(
      corner([l, t], "Top left", ([x, y]) => [x, y, Math.max(l + w - x, 0.5), Math.max(t + h - y, 0.5)]),
      corner([l + w, t + h], "Bottom right", ([x, y]) => [l, t, Math.max(x - l, 0.5), Math.max(y - t, 0.5)]),
    );
  }
  const sample = value(`${row.id}.key`, "sample");
  if (sample) outlines.push(outline({ shape: "rectangle", list: "" }, sample, to));
  return [outlines, handles];
}

// To a frame on which the row is seen, before something is drawn on it.
export function arrive(row) {
  if (now.frame < row.start || now.frame >= row.stop) go(row.settles);
}

// Drawn corner by corner; Enter or a click on the first corner closes it.
export function drawMask(row, list, over) {
  arrive(row);
  const corners = [];
  const clear = () => $("hands").querySelectorAll(".sketch").forEach((one) => one.remove());
  const close = () => {
    const { from } = placing(row);
    sketched();
    if (corners.length < 3) return;
    const path = `${row.id}.key.${list}[${row.masks.filter((one) => one.list === list).length}]`;
    edit([{ act: "insert", path, value: { polygon: corners.map(from) } }], `${row.name}: a ${NAMES[list].toLowerCase()}`);
  };
  sketching({
    row, kind: "mask", done: close,
    point: (event) => {
      const where = percent(event).map(round);
      const [first] = corners;
      if (first && corners.length > 2 && Math.hypot(first[0] - where[0], first[1] - where[1]) < 2) return close();
      corners.push(where);
      clear();
      return $("hands").append(svg("polygon", { class: `shape sketch ${list}`, points: corners.map((one) => one.join()).join(" ") }));
    },
    over: () => {
      clear();
      over();
    },
  });
}

// Under a key's settings: each shape with its softness, its keyframes, and a way to take it out.
function listed(row, mask, number) {
  const path = pathOf(row, mask);
  const name = `${NAMES[mask.list]} ${number}`;
  const what = mask.source ? `picture ${mask.source}` : mask.shape === "polygon" ? `${mask.numbers.length / 2} corners` : mask.shape;
  const head = [el("b", {}, name), el("span", { class: "grey" }, ` ${what} `)];
  if (!own(row, mask)) return el("div", { class: "mask" }, head, el("span", { class: "grey" }, "from the house setting"));
  const tool = (label, act, more = {}) => el("button", { type: "button", onclick: act, ...more }, label);
  const change = (edits, words) => edit(edits, `${row.name}: ${words}`);
  const soft = el("input", { type: "number", min: 0, max: 100, step: "any", value: String(mask.soft), "aria-label": `${name}: soft edge, percent of picture height`,
    onchange: () => soft.value !== "" && change([{ act: "set", path: `${path}.soft`, value: Number(soft.value) }], `${name.toLowerCase()}, soft edge`) });
  const here = hereOf(mask) >= 0;
  const inside = row.start <= now.frame && now.frame < row.stop;
  const last = mask.moves.length === 1;
  const moves = mask.moves.map((one, n) => el("span", { class: "keyed" },
    tool(timecode(one.at, now.sheet.facts), () => go(one.at), { title: "Go there", "aria-pressed": String(one.at === now.frame) }),
    tool("✕", () => change([{ act: "remove", path: last ? `${path}.keyframes` : `${path}.keyframes[${n}]` }], "a keyframe less"), { "aria-label": `${name}: take keyframe ${n + 1} away` })));
  const whole = row.masks.filter((one) => one.list === mask.list).length === 1 ? `${row.id}.key.${mask.list}` : path;
  return el("div", { class: "mask" }, head,
    mask.shape ? el("label", {}, "soft by ", soft, el("span", { class: "grey" }, " %")) : null,
    mask.shape ? tool("Keyframe here", () => change(keyframe(row, mask, numbersAt(mask, now.frame)).edits, "a keyframe"),
      { disabled: here || !inside, title: "As it stands here; drag it at another time, and it moves" }) : null,
    tool("Remove", () => change([{ act: "remove", path: whole }], `${name.toLowerCase()} removed`), { "aria-label": `Remove ${name.toLowerCase()}` }),
    moves.length ? el("div", {}, el("span", { class: "grey" }, "Keyframes "), moves) : null);
}

export function listMasks() {
  const place = document.querySelector(".masks");
  const row = place && rowOf(place.dataset.masks);
  if (!row?.masks || now.playing) return;
  const moved = row.masks.some((one) => one.moves.length);
  const shown = JSON.stringify([row.masks, row.start <= now.frame && now.frame < row.stop, moved ? now.frame : 0]);
  if (place.dataset.shown === shown || (place.contains(document.activeElement) && document.activeElement.matches("input"))) return;
  place.dataset.shown = shown;
  const counts = { garbage: 0, hold: 0 };
  place.replaceChildren(...row.masks.map((mask) => listed(row, mask, (counts[mask.list] += 1))));
}

when("frame", listMasks);
