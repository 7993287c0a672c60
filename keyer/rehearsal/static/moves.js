// How a placed picture moves: keyframes put in, changed and taken away by hand.

import { el } from "./dom.js";
import { edit } from "./link.js";
import { go, now, row as rowOf, value, when } from "./state.js";
import { eased, timecode } from "./time.js";

const keyframes = (row) => value(`${row.id}.placement`, "keyframes") ?? [];

// Where it stands at a frame of the sheet, as keyer reckons it.
export function poseAt(row, frame) {
  let before = row.moves[0] ?? { position: [50, 50], scale: 100, opacity: 1, turn: 0 };
  for (const after of row.moves) {
    if (after.at > frame) {
      if (after === before) return before;
      const share = eased(before.curve, (frame - before.at) / (after.at - before.at));
      const part = (a, b) => a + (b - a) * share;
      return {
        position: before.position.map((one, n) => part(one, after.position[n])),
        scale: part(before.scale, after.scale), opacity: part(before.opacity, after.opacity), turn: part(before.turn, after.turn),
      };
    }
    before = after;
  }
  return before;
}

const plain = (number) => Number(number.toFixed(2));

// A keyframe where the person is, as it stands there; a first one needs no other.
function keyframeHere(row) {
  const pose = poseAt(row, now.frame);
  const place = keyframes(row).length ? row.moves.filter((one) => one.at < now.frame).length : 0;
  const at = Math.max(now.frame - row.start, 0);
  const turned = row.moves.some((one) => one.turn) ? { turn: plain(pose.turn) } : {};
  const value_ = { at, position: pose.position.map(plain), scale: plain(pose.scale), opacity: plain(pose.opacity), ...turned };
  return { place, edits: [{ act: "insert", path: `${row.id}.placement.keyframes[${place}]`, value: value_ }] };
}

let begun = null;

// Sets a place or a size: of the whole placement, or of the keyframe here, which is put in first.
export function setPose(row, key, wanted, words, gesture) {
  const path = `${row.id}.placement`;
  const set = (where) => [{ act: "set", path: `${where}.${key}`, value: wanted }];
  const label = `${row.name}: ${words}`;
  if (!keyframes(row).length) return edit(set(path), label, gesture);
  const there = row.moves.findIndex((one) => one.at === now.frame);
  if (there >= 0) return edit(set(`${path}.keyframes[${there}]`), label, gesture);
  if (gesture && begun?.gesture === gesture) return edit(set(`${path}.keyframes[${begun.place}]`), label, gesture);
  const { place, edits } = keyframeHere(row);
  begun = { gesture, place };
  return edit([...edits, ...set(`${path}.keyframes[${place}]`)], label, gesture);
}

const CURVES = ["linear", "ease-in", "ease-out", "ease"];

function listed(row, { at, position, scale, opacity, curve }, n) {
  const path = `${row.id}.placement.keyframes[${n}]`;
  const change = (key, wanted) => edit([{ act: "set", path: `${path}.${key}`, value: wanted }], `${row.name}: keyframe ${n + 1}, ${key}`);
  const number = (key, held, low, high) => el("input", { type: "number", step: "any", min: low, max: high, value: String(plain(held)), "aria-label": `Keyframe ${n + 1}: ${key}`,
    onchange: (event) => event.target.value !== "" && change(key, Number(event.target.value)) });
  const place = (side) => el("input", { type: "number", step: "any", value: String(plain(position[side])), "aria-label": `Keyframe ${n + 1}: ${side ? "down" : "across"}`,
    onchange: (event) => change("position", rowOf(row.id).moves[n].position.map((one, m) => plain(m === side ? Number(event.target.value) : one))) });
  const list = el("select", { "aria-label": `Keyframe ${n + 1}: how it moves on`, onchange: () => change("curve", list.value) }, CURVES.map((one) => el("option", { value: one }, one)));
  list.value = curve;
  return el("tr", { class: at === now.frame ? "here" : null },
    el("td", {}, el("button", { type: "button", title: "Go there", onclick: () => go(at) }, timecode(at, now.sheet.facts))),
    el("td", {}, place(0), place(1)), el("td", {}, number("scale", scale, 0, 1000)), el("td", {}, number("opacity", opacity, 0, 1)), el("td", {}, list),
    el("td", {}, el("button", { type: "button", "aria-label": `Take keyframe ${n + 1} away`, onclick: () => edit([{ act: "remove", path: keyframes(row).length > 1 ? path : `${row.id}.placement.keyframes` }], `${row.name}: a keyframe less`) }, "✕")));
}

// Under a placement's settings: its keyframes, and one more where the person is.
let open = null;

function refresh() {
  if (!open?.extra.isConnected || now.playing) return;
  const { id, extra } = open;
  const row = rowOf(id);
  if (!row?.moves) return;
  const inside = row.start <= now.frame && now.frame < row.stop;
  const moves = keyframes(row).length === row.moves.length ? row.moves : [];
  const shown = JSON.stringify([moves, inside, moves.findIndex((one) => one.at === now.frame)]);
  const typing = extra.contains(document.activeElement) && document.activeElement.matches("input, select");
  if (extra.dataset.shown === shown || typing) return;
  extra.dataset.shown = shown;
  const here = moves.some((one) => one.at === now.frame);
  const head = ["Keyframe", "Centre, %", "Scale, %", "Opacity", "Moves on"].map((one) => el("th", { scope: "col" }, one));
  extra.replaceChildren(...[
    moves.length ? el("table", { class: "keyframes" }, el("thead", {}, el("tr", {}, head)), el("tbody", {}, moves.map((one, n) => listed(row, one, n)))) : null,
    el("button", { type: "button", disabled: here || !inside, title: "Where it stands here; drag it elsewhere at another time, and it moves",
      onclick: () => edit(keyframeHere(rowOf(id)).edits, `${row.name}: a keyframe`) }, "Keyframe here"),
  ].filter(Boolean));
}

when("group", ({ table, id, extra }) => {
  if (table !== "placement") return;
  open = { id, extra };
  refresh();
});
when("frame", refresh);
