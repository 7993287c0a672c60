// Hands on the picture: what the unfolded row lets one drag, draw and pick there.

import { $, beside, draggable, el, fresh, svg } from "./dom.js";
import { edit, setting } from "./link.js";
import { arrive, asRecorded, drawMask, listMasks, masks, placing } from "./masks.js";
import { poseAt, setPose } from "./moves.js";
import { pixels } from "./picture.js";
import { percent, sketch, sketched, sketching } from "./sketch.js";
import { look, now, row as rowOf, value, when } from "./state.js";
import { faultOf, numbers, typeable } from "./typed.js";

const SNAP = 1.2;
let safe = false;
let glass = false;

const box = () => $("picture");
const round = (one) => Number(one.toFixed(2));

// The middle, and the safe areas: the station's, or those of SMPTE ST 2046-1.
const lines = () => [50, ...now.sheet.facts.safe.flatMap(([edge]) => [edge, 100 - edge])];

function snapped(at, off) {
  if (off) return [at, null];
  const near = lines().find((line) => Math.abs(line - at) < SNAP);
  return near === undefined ? [at, null] : [near, near];
}

function guides() {
  const found = [];
  for (const [edge, name] of now.sheet.facts.safe) {
    const size = { x: edge, y: edge, width: 100 - 2 * edge, height: 100 - 2 * edge };
    found.push(svg("rect", { class: "guide dark", ...size }), svg("rect", { class: `guide ${name}`, ...size }));
  }
  for (const zone of now.sheet.facts.zones) {
    const size = { x: zone.left, y: zone.top, width: zone.width, height: zone.height };
    const kept = svg("rect", { class: "guide zone", ...size }, svg("title", {}, `Kept free: ${zone.name}`));
    found.push(svg("rect", { class: "guide dark", ...size }), kept);
  }
  return found;
}

function told(held, event, words) {
  held.told ??= el("span", { class: "told" });
  beside(held.told, event, words);
}

function snapLines(x, y) {
  $("hands").querySelectorAll(".snap").forEach((one) => one.remove());
  if (x !== null && x !== undefined) $("hands").append(svg("line", { class: "snap", x1: x, x2: x, y1: 0, y2: 100 }));
  if (y !== null && y !== undefined) $("hands").append(svg("line", { class: "snap", x1: 0, x2: 100, y1: y, y2: y }));
}

function at(node, [x, y]) {
  Object.assign(node.style, { left: `${x}%`, top: `${y}%` });
  return node;
}

// A point that can be dragged, moved by arrow keys and typed; it snaps to middles and safe areas.
// `number`, where what it sets is no place: its words, how many are typed, and how they are taken.
export function point(where, label, change, kind = "", number = null) {
  const node = at(el("button", { type: "button", class: `handle ${kind}`, title: label, "aria-label": `${label}, ${number ? number.words() : `${where.map(round).join(", ")} percent`}` }), where);
  draggable(node, {
    box,
    start: () => ({ from: [...where], gesture: fresh("point") }),
    move: (held, x, y, event) => {
      const [px, sx] = snapped(held.from[0] + 100 * x, event.altKey);
      const [py, sy] = snapped(held.from[1] + 100 * y, event.altKey);
      at(node, [px, py]);
      snapLines(sx, sy);
      const set = change([round(px), round(py)], held.gesture);
      told(held, event, number ? `${number.said(set)} %` : `${round(px)} %, ${round(py)} %`);
    },
    end: (held) => {
      held.told?.remove();
      snapLines();
    },
  });
  arrows(node, label, (x, y, gesture) => change([round(where[0] + x), round(where[1] + y)], gesture));
  typeable(node, number ?? {
    words: () => where.map(round).join(", "),
    take: async (text) => {
      const found = numbers(text, 2);
      return found ? faultOf(await change(found)) : "Type two numbers, percent from left and top.";
    },
  });
  return node;
}

// Arrow keys by a pixel, with shift by ten.
function arrows(node, label, move) {
  node.addEventListener("keydown", (event) => {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!way) return;
    event.preventDefault();
    event.stopPropagation();
    const far = event.shiftKey ? 10 : 1;
    const { width, height } = now.sheet.facts;
    move((100 * far * way[0]) / width, (100 * far * way[1]) / height, `keys-${label}`);
  });
}

function boxHandles(row) {
  const path = `${row.id}.placement`;
  const { position, scale } = poseAt(row, now.frame);
  const crop = value(path, "crop") ?? [0, 0, 0, 0];
  const left = position[0] - scale / 2 + (crop[0] * scale) / 100;
  const top = position[1] - scale / 2 + (crop[1] * scale) / 100;
  const right = position[0] + scale / 2 - (crop[2] * scale) / 100;
  const bottom = position[1] + scale / 2 - (crop[3] * scale) / 100;
  const area = el("button", { type: "button", class: "handle area", title: "Move it; arrow keys for a pixel", "aria-label": `${row.name}: move it`,
    style: { left: `${left}%`, top: `${top}%`, width: `${right - left}%`, height: `${bottom - top}%` } });
  const move = (x, y, gesture) => setPose(row, "position", [round(x), round(y)], "moved", gesture);
  draggable(area, {
    box,
    start: () => ({ from: [...position], gesture: fresh("box") }),
    move: (held, x, y, event) => {
      const [px, sx] = snapEdge(held.from[0] + 100 * x, (right - left) / 2, event.altKey);
      const [py, sy] = snapEdge(held.from[1] + 100 * y, (bottom - top) / 2, event.altKey);
      area.style.left = `${left + px - held.from[0]}%`;
      area.style.top = `${top + py - held.from[1]}%`;
      snapLines(sx, sy);
      told(held, event, `${round(px)} %, ${round(py)} %`);
      move(px, py, held.gesture);
    },
    end: (held) => { held.told?.remove(); snapLines(); },
  });
  arrows(area, "box", (x, y, gesture) => move(position[0] + x, position[1] + y, gesture));
  typeable(area, {
    words: () => position.map(round).join(", "),
    take: async (text) => {
      const found = numbers(text, 2);
      return found ? faultOf(await move(...found)) : "Type two numbers, percent from left and top.";
    },
  });
  const one = (words, put) => ({
    words,
    said: () => words(),
    take: async (text) => {
      const found = numbers(text, 1);
      return found ? faultOf(await put(round(found[0]))) : "Type a number, in percent.";
    },
  });
  let size = scale;
  const resize = (wanted, gesture) => {
    size = round(Math.max(wanted, 1));
    return setPose(row, "scale", size, "size", gesture);
  };
  const corner = point([right, bottom], "Size", ([x], gesture) => resize((2 * (x - position[0])) / (1 - crop[2] / 50), gesture), "small", one(() => String(round(size)), resize));
  const sides = [[left, (top + bottom) / 2], [(left + right) / 2, top], [right, (top + bottom) / 2], [(left + right) / 2, bottom]];
  const names = ["left", "top", "right", "bottom"];
  const crops = sides.map((where, side) => {
    const next = [...crop];
    const cut = (wanted, gesture) => {
      next[side] = round(Math.min(Math.max(wanted, 0), 95));
      return setting(`${path}.crop`, next, `${row.name}: crop ${names[side]}`, gesture);
    };
    const drag = (to, gesture) => {
      const whole = side % 2 ? position[1] : position[0];
      const along = side % 2 ? to[1] : to[0];
      const off = side < 2 ? along - (whole - scale / 2) : whole + scale / 2 - along;
      return cut((100 * off) / scale, gesture);
    };
    return point(where, `Crop ${names[side]}`, drag, "small", one(() => String(round(next[side])), cut));
  });
  return [area, corner, ...crops];
}

function snapEdge(middle, half, off) {
  if (off) return [middle, null];
  for (const line of lines()) {
    if (Math.abs(line - middle) < SNAP) return [line, line];
    if (Math.abs(line - (middle - half)) < SNAP) return [line + half, line];
    if (Math.abs(line - (middle + half)) < SNAP) return [line - half, line];
  }
  return [middle, null];
}

function centre(row, place, part) {
  const path = `${row.id}.${place}`;
  if (part?.kind !== "wipe" || !part.boundary) return [];
  const inside = part.start - 1 <= now.frame && now.frame <= part.start + part.length;
  if (!inside) return [];
  return [point(value(path, "position") ?? [50, 50], `${row.name}: the pattern's centre`, (where, gesture) => setting(`${path}.position`, where, `${row.name}: centre`, gesture))];
}

function render() {
  if (sketch()) return;
  const held = $("handles").querySelector(".held");
  const row = rowOf();
  const outlines = safe ? guides() : [];
  const handles = [];
  if (row && now.view !== "client" && !now.playing) {
    if (row.kind === "cue") {
      handles.push(...centre(row, "transition", row.enter));
      if (row.start <= now.frame && now.frame < row.stop && now.sheet.settings?.[`${row.id}.placement`]) handles.unshift(...boxHandles(row));
    }
    if (row.kind === "overlay") {
      handles.push(...centre(row, "transition_in", row.enter), ...centre(row, "transition_out", row.leave));
      const on = row.start <= now.frame && now.frame < row.stop;
      if (on && row.keyed) {
        const [shapes, corners] = masks(row);
        outlines.push(...shapes);
        handles.push(...corners);
      }
      if (on && !asRecorded() && (now.sheet.settings?.[`${row.id}.placement`] || !row.keyed)) handles.unshift(...boxHandles(row));
    }
  }
  const snaps = held ? [...$("hands").querySelectorAll(".snap")] : [];
  $("hands").replaceChildren(...outlines, ...snaps);
  if (held) return; // what a hand holds stays as it is until it lets go
  const focus = document.activeElement?.parentElement === $("handles") ? [...$("handles").children].indexOf(document.activeElement) : -1;
  $("handles").replaceChildren(...handles);
  if (focus >= 0) $("handles").children[focus]?.focus();
}

// Click the backing: a patch is averaged, which a loupe shows.
const PATCH = 1.6;

function patch([x, y]) {
  const high = PATCH * now.sheet.facts.shape;
  return [Math.max(x - PATCH / 2, 0), Math.max(y - high / 2, 0), PATCH, high].map(round);
}

// The pixels around the pointer; while the backing is picked, with the patch that is averaged.
function loupe(event, picking) {
  const place = $("loupe");
  const source = pixels();
  const frame = box().getBoundingClientRect();
  const [x, y] = percent(event);
  let picture = place.querySelector("canvas");
  if (!picture) {
    picture = el("canvas", { width: 48, height: 48 });
    place.replaceChildren(picture);
  }
  const pen = picture.getContext("2d");
  pen.imageSmoothingEnabled = false;
  const px = (x / 100) * source.width;
  const py = (y / 100) * source.height;
  pen.fillRect(0, 0, 48, 48);
  pen.drawImage(source, px - 24, py - 24, 48, 48, 0, 0, 48, 48);
  const side = ((PATCH / 100) * source.width) / 2;
  pen.strokeStyle = "#fff";
  if (picking) pen.strokeRect(24 - side, 24 - side, 2 * side, 2 * side);
  place.hidden = false;
  const left = event.clientX - frame.left > frame.width / 2;
  Object.assign(place.style, { left: left ? "1rem" : "auto", right: left ? "auto" : "1rem", top: "1rem" });
}

// The backing is picked on the picture as recorded, where it can be seen: that of the topmost key.
function pickBacking(row) {
  arrive(row);
  const before = now.view;
  const topmost = now.sheet.rows.filter((one) => one.keyed && one.start <= now.frame && now.frame < one.stop)
    .reduce((top, one) => (one.index > top.index ? one : top), row);
  if (before === "picture" && topmost === row) look("source");
  sketching({
    row, kind: "pick",
    point: (event) => {
      const sample = patch(placing(row).from(percent(event)));
      sketched();
      edit([{ act: "set", path: `${row.id}.key.sample`, value: sample }], `${row.name}: backing picked`);
    },
    over: () => {
      $("loupe").hidden = true;
      if (now.view !== before) look(before);
      render();
    },
  });
}

box().addEventListener("pointermove", (event) => {
  const kind = sketch()?.kind;
  if (kind === "pick") loupe(event, true);
  else if (glass && !kind) loupe(event, false);
});
box().addEventListener("pointerleave", () => ($("loupe").hidden = true));

// The tools of a key, under its settings.
when("group", ({ table, id, extra, path }) => {
  if (table !== "key") return;
  const row = rowOf(id);
  const kind = value(path, "kind");
  if (!kind) return extra.replaceChildren();
  if (extra.dataset.kind === kind && extra.dataset.sample === String(Boolean(value(path, "sample")))) return listMasks();
  extra.dataset.kind = kind;
  extra.dataset.sample = String(Boolean(value(path, "sample")));
  const tool = (label, act) => el("button", { type: "button", onclick: act }, label);
  extra.replaceChildren(el("div", { class: "tools" },
    kind === "chroma" && tool("Pick the backing", () => pickBacking(row)),
    kind === "chroma" && value(path, "sample") && tool("Find it again by itself", () => edit([{ act: "remove", path: `${path}.sample` }], `${row.name}: backing found by itself`)),
    tool("Draw a garbage matte", () => drawMask(row, "garbage", render)),
    tool("Draw a hold-in matte", () => drawMask(row, "hold", render))),
  el("div", { class: "masks", "data-masks": id }));
  return listMasks();
});

when("glass", () => {
  glass = !glass;
  $("glass").setAttribute("aria-pressed", String(glass));
  $("loupe").hidden = true;
});
when("safe", () => {
  safe = !safe;
  $("safe").setAttribute("aria-pressed", String(safe));
  render();
});
for (const what of ["sheet", "unfolded", "view", "playing"]) when(what, render);
when("frame", () => now.playing || render());
