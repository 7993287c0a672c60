// An unfolded row: its settings as controls with units, and nothing that does not apply.

import { el } from "./dom.js";
import { edit } from "./link.js";
import { rowTools } from "./add.js";
import { control } from "./controls.js";
import { now, row as rowOf, tell } from "./state.js";

const TITLE = ["title", "@source.title", "Title"];
const SOURCE = [
  ["source", "@source", "Source"],
  ["background", "@source.background", "Background"],
  ["gradient", "@source.gradient", "Gradient"],
  ["checkerboard", "@source.checkerboard", "Checkerboard"],
  ["correct", "@source.correct", "Levels and chroma"],
];
const effect = (place, title, wave, hold) => [
  ["transition", place, title],
  ["modulate", `${place}.modulate`, wave],
  ["hold", `${place}.hold`, hold],
];
const GROUPS = {
  cue: [
    TITLE,
    ["cue", "", "Shot"],
    ...effect("transition", "Transition", "Wave on the edge", "Held part-way"),
    ["placement", "placement", "Placement"],
    ...SOURCE,
  ],
  overlay: [
    TITLE,
    ["overlay", "", "Overlay"],
    ["key", "key", "Key"],
    ["placement", "placement", "Placement"],
    ...effect("transition_in", "Transition in", "Wave, in", "Hold, in"),
    ...effect("transition_out", "Transition out", "Wave, out", "Hold, out"),
    ...SOURCE,
  ],
  sound: [["sound", "", "Sound"], ["duck", "duck", "Gives way to another"]],
  sheet: [
    ["sheet", "", "The whole spot"],
    ["fade", "fade_in", "Out of a colour"],
    ["fade", "fade_out", "Into a colour"],
    ["loudness", "loudness", "What the mix has to hold"],
  ],
};

// Tables that are there or not: which holds them, how they begin, how they go.
const others = (row) => now.sheet.rows.filter((one) => one.kind === "sound" && one.id !== row.id).map((one) => one.name);
const half = (length) => Math.max(Math.floor(length / 2), 1);
const ADDED = [
  { of: "transition", key: "modulate", add: "Add a wave", gone: "No wave", value: () => ({ wave: "sine" }), fits: (held) => held.kind?.value === "wipe" },
  { of: "transition", key: "hold", add: "Hold it part-way", gone: "Run through", value: (row, path) => ({ length: half((path.endsWith("_out") ? row.leave : row.enter).length) }), fits: (held) => held.kind?.value !== "cut" },
  { of: "cue", key: "placement", add: "Place it", gone: "Fill the frame", value: () => ({ scale: 50 }) },
  { of: "overlay", key: "placement", add: "Place it", gone: "As it is", value: () => ({ scale: 100 }) },
  { of: "source", key: "correct", add: "Correct levels", gone: "As recorded", value: () => ({ gain: 100 }) },
  { of: "sound", key: "duck", add: "Give way to another", gone: "Stay at its level", value: (row) => ({ under: others(row)[0] }), fits: (held, row) => others(row).length > 0 },
  { of: "sheet", key: "loudness", add: "Ask a loudness", gone: "As advice", value: () => ({ target: -23 }) },
  { of: "sheet", key: "fade_in", add: "Fade in", gone: "No fade", value: () => ({ length: now.sheet.facts.count }) },
  { of: "sheet", key: "fade_out", add: "Fade out", gone: "No fade", value: () => ({ length: now.sheet.facts.count }) },
];

// Settings that are changed seldom stand under More until they say something.
const SELDOM = {
  transition: ["border_ramp", "border_source", "aspect", "rotate", "repeat", "mirror", "start_progress", "end_progress"],
  placement: ["flip", "turn", "corners", "border_soft", "shadow_soft", "shadow_offset"],
  key: ["fill_holes", "drop_specks", "shadow", "shadow_soft"],
  overlay: ["note"],
  cue: ["note"],
  sheet: ["light", "note"],
  source: ["speed", "loop", "freeze", "at"],
};

// Whether a control applies to what its table says now.
function applies(facts, table, path) {
  const held = now.sheet.settings?.[path] ?? {};
  const kind = held.kind?.value;
  if (table === "key" && !kind) return false;
  if (facts.key === "use") return Boolean(held.use);
  if (facts.kinds) {
    if (facts.kinds && !facts.kinds.includes(kind)) return facts.key === "colour" && String(held.pattern?.value ?? "").startsWith("fade");
    if (["border_soft", "border_colour", "border_ramp", "border_source"].includes(facts.key)) return Boolean(held.border?.value);
    if (facts.key === "mirror") return (held.repeat?.value ?? [1, 1]).some((count) => count > 1);
    if (facts.key === "shadow_soft") return Boolean(held.shadow?.value);
    if (facts.key === "clean_plate") return held.quality?.value === "fine";
  }
  if (facts.clips) return isClip(path);
  if (table === "placement" && facts.key.startsWith("border_")) return Boolean(held.border?.value);
  if (table === "placement" && facts.key.startsWith("shadow_")) return Boolean(held.shadow?.value);
  if (table === "placement" && ["position", "scale", "turn"].includes(facts.key)) return (held.keyframes?.value ?? []).length === 0;
  if (facts.key === "pages") return Boolean(held.page);
  if (facts.key === "page") return Boolean(held.page) || !held.design;
  if (facts.key === "design") return !held.page;
  if (table !== "source") return true;
  if (facts.key === "fit") return Boolean(held.file);
  if (facts.key === "keep") return Boolean(held.file) && (held.fit?.value ?? "cover") === "cover";
  return Boolean(held[facts.key]);
}

const isClip = (path) => {
  const file = now.sheet.settings?.[path]?.file?.value ?? "";
  return /\.(mp4|mov|mkv|webm|avi|mxf|gif|m4v|mts|ts)$/i.test(file) || /[%#]/.test(file);
};

function group(table, place, title, id) {
  const node = el("section", { class: "group" });
  const heading = el("h3", {}, title);
  const tools = el("span");
  heading.append(tools);
  const body = el("div");
  const seldom = el("div");
  const more = el("details", { class: "more" }, el("summary", {}, "More"), seldom);
  const extra = el("div");
  node.append(heading, body, more, extra);
  const name = rowOf(id)?.name ?? title;
  let path = "";
  let parts = [];
  let rare = new Set();
  const update = () => {
    const row = rowOf(id);
    if (!row) return;
    const source = row.source ? `sources.${row.source}` : "";
    const here = place.startsWith("@source") ? place.replace("@source", source) : place ? `${id}.${place}` : id;
    const known = now.sheet.settings?.[here];
    if (here !== path) {
      path = here;
      parts = now.controls[table].map((facts) => control({ ...facts, kinds_of: now.kinds[table] ? table : "" }, path, name));
      rare = new Set((SELDOM[table] ?? []).filter((key) => known?.[key]?.origin !== "own"));
    }
    const always = !place || table === "transition" || table === "key";
    const title = now.sheet.sources.some((one) => one.name === row.source && one.is === "title");
    node.hidden = table === "source" ? !source || !known : table === "key" ? title && !known : !always && !known;
    if (node.hidden) return;
    const shown = parts.filter((one) => applies(one.facts, table, path));
    fill(body, shown.filter((one) => !rare.has(one.facts.key)));
    fill(seldom, shown.filter((one) => rare.has(one.facts.key)));
    more.hidden = !seldom.children.length;
    for (const one of shown) one.show();
    if (table === "title") fields(extra, `${path}.fields`, known.fields?.value, name);
    if (table === "source") {
      fields(extra, `${path}.variables`, known.variables?.value, name);
      node.hidden = !shown.length && !extra.children.length;
    }
    tools.replaceChildren(...toolsOf(table, path, known, row), ...chooser(table, path, known, shown));
    tell("group", { table, path, id, extra });
  };
  return { node, update };
}

// Nothing moves that need not, so that the hand stays where it is.
function fill(place, parts) {
  const nodes = parts.map((one) => one.node);
  if (nodes.length !== place.children.length || nodes.some((one, n) => place.children[n] !== one)) place.replaceChildren(...nodes);
}

// Settings that can be chosen by sight.
const BY_SIGHT = ["design", "number", "whole", "choice", "colour", "pattern", "look", "switch"];

function chooser(table, path, known, shown) {
  if (!known || !["transition", "key", "placement", "modulate", "background", "title"].includes(table)) return [];
  const options = shown.filter(({ facts }) => BY_SIGHT.includes(facts.control) && facts.key !== "kind")
    .map(({ facts }) => ({ label: facts.label, path: `${path}.${facts.key}`, facts, value: known[facts.key]?.value }));
  return options.length ? [el("button", { type: "button", onclick: () => tell("choose", path, options) }, "Choose…")] : [];
}

function toolsOf(table, path, known, row) {
  const tool = (label, act) => el("button", { type: "button", onclick: () => edit([act], `${row.name}: ${label.toLowerCase()}`) }, label);
  const tools = [];
  if (table === "key") {
    tools.push(...(known ? [tool("No key", { act: "remove", path })]
      : ["chroma", "luminance", "linear"].map((kind) => tool(`${kind[0].toUpperCase()}${kind.slice(1)} key`, { act: "set", path, value: { kind } }))));
  }
  if (table === "transition" && known && known.kind?.value !== "cut") {
    const part = path.endsWith("_out") ? row.leave : row.enter;
    if (part?.length) tools.push(el("button", { type: "button", title: "From a moment before it to a moment after", onclick: () => tell("playPart", part) }, "Play it"));
  }
  for (const one of ADDED.filter(({ key, of }) => key !== "placement" || of === row.kind)) {
    if (one.of === table && !known?.[one.key] && (one.fits?.(known ?? {}, row) ?? true)) {
      tools.push(tool(one.add, { act: "set", path: `${path}.${one.key}`, value: one.value(row, path) }));
    }
    if (known && path.endsWith(`.${one.key}`) && (path === `sheet.${one.key}` || one.of !== "sheet")) {
      tools.push(tool(one.gone, { act: "remove", path }));
      break;
    }
  }
  if (path === row.id && row.id !== "sheet") tools.push(...rowTools(row.id));
  return tools;
}

// Texts by names of the user's own, such as a title's fields: every letter is seen at once.
function fields(extra, path, held = {}, name = "") {
  if (extra.dataset.names !== Object.keys(held).join()) {
    extra.dataset.names = Object.keys(held).join();
    extra.parts = Object.entries(held).map(([key, text]) =>
      control({ key, label: key, control: typeof text === "number" ? "figure" : "words", needed: true, default: "", meaning: "" }, path, name));
    extra.replaceChildren(...extra.parts.map((one) => one.node));
  }
  for (const one of extra.parts) one.show();
}

export function settings(id) {
  const kind = rowOf(id).kind;
  const groups = GROUPS[kind].map(([table, place, title]) => group(table, place, title, id));
  const node = el("div", { class: "settings" }, groups.map((one) => one.node));
  return { node, update: () => groups.forEach((one) => one.update()) };
}
