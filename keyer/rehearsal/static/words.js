// A title's words, typed straight into the picture: over each of them lies a box that shows nothing
// but its outline and a caret, and every letter typed is drawn by keyer itself.

import { $, el, fresh } from "./dom.js";
import { keyPath } from "./controls.js";
import { answered, edit } from "./link.js";
import { poseAt } from "./moves.js";
import { now, row as rowOf, unfold, value, when } from "./state.js";

const place = el("div", { id: "words" });
const boxes = new Map();
const known = new Map();
let sweep = 0;

const isTitle = (row) => now.sheet.sources.some((one) => one.name === row.source && one.is === "title");
const fieldsOf = (source) => `sources.${source}.title.fields`;

// Titles that are fully there on this frame, and stand upright; while another row is open, none.
function onAir() {
  const open = rowOf();
  if (!now.sheet?.settings || now.playing || now.view !== "picture") return [];
  if (open && open.kind !== "sheet" && !isTitle(open)) return [];
  return now.sheet.rows.filter((row) => {
    const first = row.start + (row.enter?.length ?? 0);
    const stop = row.stop - (row.leave?.length ?? 0);
    const moved = ["flip", "turn", "corners"].some((key) => value(`${row.id}.placement`, key));
    return row.kind !== "sound" && isTitle(row) && first <= now.frame && now.frame < stop && !moved;
  });
}

// Where a title's words stand; asked for again when the title has changed.
async function wordsOf(source) {
  const { facts, settings, digest } = now.sheet;
  const said = JSON.stringify([settings[`sources.${source}.title`], facts.format, facts.safe]);
  const held = known.get(source);
  if (held?.said === said) return held.words;
  const answer = await answered(`/words?of=${encodeURIComponent(source)}`);
  if (!answer.ok) return held?.words ?? [];
  const words = (await answer.json()).sort((a, b) => a.box[1] - b.box[1]);
  if (digest === now.sheet.digest) known.set(source, { said, words });
  return words;
}

// A place on the title, where the title stands.
function standing(row) {
  const { position, scale } = poseAt(row, now.frame);
  const by = scale / 100;
  return { x: (x) => position[0] + (x - 50) * by, y: (y) => position[1] + (y - 50) * by, by };
}

function newBox(key) {
  const caret = el("i", { class: "caret", hidden: true });
  const chosen = el("i", { class: "marked", hidden: true });
  const node = el("input", { type: "text", class: "word", spellcheck: "false", autocomplete: "off" });
  const made = { node, caret, chosen, stops: [], row: null, gesture: null };
  const move = () => follow(made);
  node.addEventListener("focus", () => {
    made.gesture = fresh(key);
    const origin = now.sheet.settings[fieldsOf(made.row.source)]?.[made.field]?.origin;
    if (origin === "variable" && now.unfolded !== made.row.id) unfold(made.row.id); // where it is asked: here, or everywhere?
  });
  node.addEventListener("input", () => {
    move();
    const { source } = made.row;
    const path = fieldsOf(source);
    const own = document.querySelector(`[data-row="${made.row.id}"] input[name="${CSS.escape(made.field)}"]`);
    if (now.sheet.settings[path]?.[made.field]?.origin === "variable" && own) {
      own.value = node.value;
      own.dispatchEvent(new Event("input"));
      return;
    }
    edit([{ act: "set", path: keyPath(path, made.field), value: node.value }], `${made.row.name}: ${made.field}`, made.gesture);
  });
  node.addEventListener("keydown", (event) => {
    event.stopPropagation();
    if (event.key === "Escape" || event.key === "Enter") node.blur();
    else requestAnimationFrame(move);
  });
  node.addEventListener("pointerup", (event) => {
    if (!made.stops.length || node.selectionStart !== node.selectionEnd) return;
    const frame = place.getBoundingClientRect();
    const x = (100 * (event.clientX - frame.left)) / frame.width;
    const y = (100 * (event.clientY - frame.top)) / frame.height;
    const far = ([at, top, bottom]) => Math.abs(at - x) + 3 * Math.max(top - y, y - bottom, 0);
    const nearest = made.stops.reduce((best, stop, n) => (far(stop) < far(made.stops[best]) ? n : best), 0);
    node.setSelectionRange(nearest, nearest);
    move();
  });
  for (const what of ["keyup", "focus", "blur", "select", "dblclick"]) node.addEventListener(what, move);
  boxes.set(key, made);
  return made;
}

// The caret, and what is marked, where the letters are.
function follow({ node, caret, chosen, stops }) {
  const at = (n) => stops[Math.min(n, stops.length - 1)];
  const here = document.activeElement === node;
  const [first, last] = [node.selectionStart, node.selectionEnd];
  caret.hidden = !here || !stops.length || first !== last;
  chosen.hidden = !here || !stops.length || first === last;
  if (!caret.hidden) {
    const [x, top, bottom] = at(first);
    Object.assign(caret.style, { left: `${x}%`, top: `${top}%`, height: `${bottom - top}%` });
  }
  if (!chosen.hidden) {
    const [[x, top, bottom], [end]] = [at(first), at(last)];
    Object.assign(chosen.style, { left: `${x}%`, top: `${top}%`, width: `${Math.max(end - x, 0)}%`, height: `${bottom - top}%` });
  }
}

async function render() {
  const turn = (sweep += 1);
  const rows = onAir();
  const found = await Promise.all(rows.map((row) => wordsOf(row.source)));
  if (turn !== sweep) return;
  const wanted = new Set();
  rows.forEach((row, n) => {
    const { x, y, by } = standing(row);
    const held = now.sheet.settings[fieldsOf(row.source)] ?? {};
    found[n].forEach(({ field, box, stops }) => {
      const key = `${row.id} ${field}`;
      if (wanted.has(key)) return;
      wanted.add(key);
      const made = boxes.get(key) ?? newBox(key);
      Object.assign(made, { row, field, stops: stops.map(([left, top, bottom]) => [x(left), y(top), y(bottom)]) });
      made.node.setAttribute("aria-label", `${row.name}: ${field}, on the picture`);
      made.node.classList.toggle("plain", !stops.length);
      if (document.activeElement !== made.node) made.node.value = held[field]?.value ?? "";
      Object.assign(made.node.style, { left: `${x(box[0])}%`, top: `${y(box[1])}%`, width: `${box[2] * by}%`, height: `${box[3] * by}%` });
      if (!made.node.isConnected) place.append(made.node, made.chosen, made.caret);
      follow(made);
    });
  });
  for (const [key, made] of boxes) {
    if (wanted.has(key) || (document.activeElement === made.node && rows.some((row) => key.startsWith(`${row.id} `)))) continue;
    for (const one of [made.node, made.chosen, made.caret]) one.remove();
    boxes.delete(key);
  }
}

$("picture").append(place);
for (const what of ["sheet", "unfolded", "view", "playing"]) when(what, render);
when("frame", () => now.playing || render());
