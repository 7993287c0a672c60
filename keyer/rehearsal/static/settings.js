// An unfolded row: its settings as controls with units, and nothing that does not apply.

import { el, fresh, set } from "./dom.js";
import { edit } from "./link.js";
import { rowTools } from "./add.js";
import { now, row as rowOf, tell } from "./state.js";
import { timecode } from "./time.js";

const GROUPS = {
  cue: [
    ["cue", "", "Shot"],
    ["transition", "transition", "Transition"],
    ["modulate", "transition.modulate", "Wave on the edge"],
    ["source", "@source", "Source"],
    ["title", "@source.title", "Title"],
    ["background", "@source.background", "Background"],
  ],
  overlay: [
    ["overlay", "", "Overlay"],
    ["key", "key", "Key"],
    ["placement", "placement", "Placement"],
    ["transition", "transition_in", "Comes"],
    ["transition", "transition_out", "Goes"],
    ["source", "@source", "Source"],
    ["title", "@source.title", "Title"],
    ["background", "@source.background", "Background"],
  ],
  sound: [["sound", "", "Sound"]],
  sheet: [["sheet", "", "The whole spot"]],
};

const say = (value) => (typeof value === "number" ? String(Number(value.toFixed(3))) : String(value));

// Every kind of control: made once, told its value at each change of the sheet.
const MADE = {
  number(facts, change) {
    const step = facts.control === "whole" ? 1 : "any";
    const typed = el("input", { type: "number", step, min: facts.low, max: facts.high, onchange: () => typed.value !== "" && change(Number(typed.value)) });
    const parts = [typed, facts.unit && el("span", { class: "grey" }, facts.unit)];
    let slide = null;
    let gesture = null;
    if (facts.low !== null && facts.high !== null && facts.high - facts.low <= 1000) {
      // widths are set near nothing most of the time: the slider's way is bent
      const bent = facts.low === 0 && facts.high >= 50;
      const of = (share) => facts.low + (facts.high - facts.low) * (bent ? share ** 2 : share);
      const back = (value) => ((value - facts.low) / (facts.high - facts.low)) ** (bent ? 0.5 : 1);
      const fine = (value) => (facts.control === "whole" ? Math.round(value) : Number(value.toPrecision(3)));
      slide = el("input", {
        type: "range", min: 0, max: 1, step: 0.002, "aria-label": facts.label,
        onpointerdown: () => (gesture = fresh(facts.key)),
        oninput: () => {
          typed.value = say(fine(of(Number(slide.value))));
          change(fine(of(Number(slide.value))), gesture ?? `keys-${facts.key}`);
        },
        onchange: () => (gesture = null),
      });
      slide.back = back;
      parts.push(slide);
    }
    return {
      parts, first: typed,
      show: (value) => {
        if (document.activeElement !== typed) typed.value = value === null || value === undefined ? "" : say(value);
        typed.placeholder = value === null || value === undefined ? "auto" : "";
        if (slide && document.activeElement !== slide) slide.value = slide.back(value ?? facts.low);
      },
    };
  },
  switch(facts, change) {
    const box = el("input", { type: "checkbox", onchange: () => change(box.checked) });
    return { parts: [box], first: box, show: (value) => (box.checked = Boolean(value)) };
  },
  choice(facts, change) {
    const list = el("select", { onchange: () => change(list.value === "" ? undefined : list.value) },
      facts.default === null && !facts.needed ? el("option", { value: "" }, facts.absent ?? "none") : null,
      facts.choices.map((one) => el("option", { value: String(one) }, String(one))));
    return { parts: [list], first: list, show: (value) => (list.value = value ?? "") };
  },
  source(facts, change) {
    const list = el("select", { onchange: () => change(list.value || undefined) });
    return {
      parts: [list], first: list,
      show: (value) => {
        const names = now.sheet.sources.map((one) => one.name);
        list.replaceChildren(el("option", { value: "" }, facts.absent ?? "none"), ...names.map((name) => el("option", { value: name }, name)));
        list.value = value ?? "";
      },
    };
  },
  colour(facts, change) {
    let gesture = null;
    const well = el("input", {
      type: "color", "aria-label": facts.label,
      oninput: () => change(well.value.toUpperCase(), (gesture ??= fresh(facts.key))),
      onchange: () => (gesture = null),
    });
    const typed = el("input", { type: "text", class: "short", spellcheck: "false", onchange: () => change(typed.value.trim() || undefined) });
    return {
      parts: [well, typed], first: typed,
      show: (value) => {
        if (value) well.value = value.length === 4 ? `#${[...value.slice(1)].map((c) => c + c).join("")}` : value;
        if (document.activeElement !== typed) typed.value = value ?? "";
        typed.placeholder = facts.absent ?? "";
      },
    };
  },
  time(facts, change) {
    const typed = el("input", {
      type: "text", class: "short", spellcheck: "false",
      onchange: () => {
        const text = typed.value.trim();
        change(text === "" ? undefined : /^\d+$/.test(text) ? Number(text) : text);
      },
    });
    const told = el("span", { class: "grey" });
    return {
      parts: [typed, told], first: typed,
      show: (value) => {
        if (document.activeElement !== typed) typed.value = value ?? "";
        typed.placeholder = facts.absent ?? "";
        told.textContent = typeof value === "number" && !facts.clips ? timecode(value, { ...now.sheet.facts, start: 0 }) : "";
      },
    };
  },
  numbers(facts, change) {
    const boxes = (facts.default ?? [0, 0]).map((_, index) =>
      el("input", { type: "number", step: "any", min: facts.low, max: facts.high, "aria-label": `${facts.label} ${index + 1}`,
        onchange: () => change(boxes.map((one) => Number(one.value))) }));
    return {
      parts: [...boxes, facts.unit && el("span", { class: "grey" }, facts.unit)], first: boxes[0],
      show: (value) => boxes.forEach((one, index) => {
        if (document.activeElement !== one) one.value = say((value ?? facts.default)[index]);
      }),
    };
  },
  hue(facts, change) {
    const list = el("select", { "aria-label": facts.label, onchange: () => (list.value === "angle" ? change(240) : change(list.value)) },
      ["auto", "green", "blue", "angle"].map((one) => el("option", { value: one }, one)));
    const typed = el("input", { type: "number", step: "any", "aria-label": "Hue in degrees", onchange: () => change(Number(typed.value)) });
    return {
      parts: [list, typed, el("span", { class: "grey" }, "°")], first: list,
      show: (value) => {
        const angle = typeof value === "number";
        list.value = angle ? "angle" : value ?? "auto";
        typed.hidden = !angle;
        if (angle && document.activeElement !== typed) typed.value = say(value);
      },
    };
  },
  pattern(facts, change, path) {
    const open = el("button", { type: "button", onclick: () => tell("wall", path, change, open.textContent) });
    return { parts: [open], first: open, show: (value) => (open.textContent = value ?? "choose") };
  },
  design(facts, change) {
    const list = el("select", { onchange: () => change(list.value || undefined) });
    return {
      parts: [list], first: list,
      show: (value) => {
        const names = [...new Set([...(value ? [value] : []), ...now.sheet.designs])];
        list.replaceChildren(el("option", { value: "" }, facts.absent ?? "none"), ...names.map((name) => el("option", { value: name }, name)));
        list.value = value ?? "";
      },
    };
  },
  text(facts, change) {
    const typed = el("input", { type: "text", onchange: () => change(typed.value === "" && !facts.needed ? undefined : typed.value) });
    return {
      parts: [typed], first: typed,
      show: (value) => {
        if (document.activeElement !== typed) typed.value = value ?? "";
        typed.placeholder = facts.absent ?? "";
      },
    };
  },
};
MADE.whole = MADE.number;
MADE.colours = MADE.text;

function control(facts, path, name) {
  const fault = el("span", { class: "fault", role: "alert" });
  const origin = el("span", { class: "origin" });
  const back = el("button", { type: "button", class: "back", title: `As without it: ${facts.absent ?? facts.default ?? "none"}` }, "✕");
  const held = () => now.sheet.settings?.[path]?.[facts.key];
  const label = (value) => `${name}: ${facts.label}${value === undefined ? " as by default" : ` ${Array.isArray(value) ? value.map(say).join(", ") : say(value)}${facts.unit ? ` ${facts.unit}` : ""}`}`;
  const apply = async (where, value, gesture) => {
    const edits = changed(path, facts, where, value);
    const faults = await edit(edits, label(value), gesture);
    fault.textContent = faults.map((one) => one.message).join(" ");
    if (faults.length) show();
  };
  const change = (value, gesture = null) => {
    const known = held();
    if (value !== undefined && known && JSON.stringify(known.value) === JSON.stringify(value)) return;
    if (known && (known.origin === "house" || known.origin === "variable")) {
      ask(known, value, gesture);
      return;
    }
    apply(`${path}.${facts.key}`, value, gesture);
  };
  // a value that others share: here, or everywhere?
  let chosen = null;
  const ask = (known, value, gesture) => {
    if (chosen) {
      apply(chosen === "here" ? `${path}.${facts.key}` : known.where, value, gesture);
      return;
    }
    const settle = (choice) => () => {
      chosen = choice;
      apply(choice === "here" ? `${path}.${facts.key}` : known.where, value, gesture);
      origin.replaceChildren();
    };
    origin.replaceChildren(el("span", { class: "ask" }, `${known.where} is used elsewhere too. `,
      el("button", { type: "button", onclick: settle("here") }, "Here"),
      el("button", { type: "button", onclick: settle("everywhere") }, "Everywhere")));
  };
  const part = MADE[facts.control](facts, change, path);
  const id = fresh("control");
  set(part.first, { id });
  back.addEventListener("click", () => apply(`${path}.${facts.key}`, undefined));
  const node = el("div", { class: "control", title: facts.meaning },
    el("label", { for: id }, facts.label), el("div", { class: "value" }, part.parts.filter(Boolean)), back, origin, fault);
  const show = () => {
    const known = held();
    part.show(known ? known.value : facts.default);
    back.style.visibility = known && known.origin === "own" && !facts.needed && facts.key !== "kind" ? "visible" : "hidden";
    if (!origin.querySelector(".ask")) {
      const words = { house: "from the house setting", variable: `from ${known?.where}`, include: "from an included sheet" };
      origin.textContent = words[known?.origin] ?? "";
      if (known?.origin === "own") chosen = null;
    }
  };
  return { node, show, facts };
}

// The edits of one change: a new kind takes along what does not go with it.
function changed(path, facts, where, value) {
  if (value === undefined) return [{ act: "remove", path: where }];
  const edits = [{ act: "set", path: where, value }];
  const table = facts.kinds_of;
  if (facts.key !== "kind" || !table) return edits;
  const allowed = now.kinds[table][value];
  for (const [key, one] of Object.entries(now.sheet.settings?.[path] ?? {})) {
    if (one.origin === "own" && !["kind", "use", ...allowed].includes(key)) edits.unshift({ act: "remove", path: `${path}.${key}` });
  }
  if (table === "transition" && value === "wipe" && !now.sheet.settings?.[path]?.pattern) {
    edits.push({ act: "set", path: `${path}.pattern`, value: "barWipe/leftToRight" });
  }
  return edits;
}

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
  if (facts.key === "pages") return Boolean(held.page);
  if (facts.key === "fit") return Boolean(held.file);
  return true;
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
  const extra = el("div");
  node.append(heading, body, extra);
  const name = rowOf(id)?.name ?? title;
  let path = "";
  let parts = [];
  const update = () => {
    const row = rowOf(id);
    if (!row) return;
    const source = row.source ? `sources.${row.source}` : "";
    const here = place.startsWith("@source") ? place.replace("@source", source) : place ? `${id}.${place}` : id;
    if (here !== path) {
      path = here;
      parts = now.controls[table].map((facts) => control({ ...facts, kinds_of: now.kinds[table] ? table : "" }, path, name));
    }
    const known = now.sheet.settings?.[path];
    const inner = /\.(title|background|modulate)$/.test(path);
    node.hidden = place.startsWith("@source") ? !source || !known || (table === "source" && !known.file) : inner && !known;
    if (node.hidden) return;
    const shown = parts.filter((one) => applies(one.facts, table, path));
    const nodes = shown.map((one) => one.node);
    if (nodes.length !== body.children.length || nodes.some((one, n) => body.children[n] !== one)) body.replaceChildren(...nodes);
    for (const one of shown) one.show();
    if (table === "title") fields(extra, path, name);
    tools.replaceChildren(...(path === id && id !== "sheet" ? rowTools(id) : toolsOf(table, path, known)), ...chooser(table, path, known, shown));
    tell("group", { table, path, id, extra });
  };
  return { node, update };
}

// Settings that can be chosen by sight.
const BY_SIGHT = ["design", "number", "whole", "choice", "colour", "pattern", "switch"];

function chooser(table, path, known, shown) {
  if (!known || !["transition", "key", "placement", "modulate", "background", "title"].includes(table)) return [];
  const options = shown.filter(({ facts }) => BY_SIGHT.includes(facts.control) && facts.key !== "kind")
    .map(({ facts }) => ({ label: facts.label, path: `${path}.${facts.key}`, facts, value: known[facts.key]?.value }));
  return options.length ? [el("button", { type: "button", onclick: () => tell("choose", path, options) }, "Choose…")] : [];
}

function toolsOf(table, path, known) {
  if (table === "key") {
    return known
      ? [el("button", { type: "button", onclick: () => edit([{ act: "remove", path }], "No key") }, "No key")]
      : ["chroma", "luminance", "linear"].map((kind) =>
          el("button", { type: "button", onclick: () => edit([{ act: "set", path, value: { kind } }], `${kind} key`) }, kind));
  }
  if (table === "transition" && known?.kind?.value === "wipe" && !known.modulate) {
    return [el("button", { type: "button", onclick: () => edit([{ act: "set", path: `${path}.modulate`, value: { wave: "sine" } }], "A wave on the edge") }, "Add a wave")];
  }
  if (table === "modulate") return [el("button", { type: "button", onclick: () => edit([{ act: "remove", path }], "No wave on the edge") }, "No wave")];
  return [];
}

// A title's fields, typed straight into the picture.
function fields(extra, path, name) {
  const held = now.sheet.settings?.[path]?.fields?.value ?? {};
  if (extra.dataset.names === Object.keys(held).join()) {
    for (const box of extra.querySelectorAll("input")) if (document.activeElement !== box) box.value = held[box.name] ?? "";
    return;
  }
  extra.dataset.names = Object.keys(held).join();
  extra.replaceChildren(...Object.entries(held).map(([key, text]) => {
    const id = fresh("field");
    let gesture = null;
    const box = el("input", {
      type: "text", id, name: key, value: text,
      onfocus: () => (gesture = fresh(key)),
      oninput: () => edit([{ act: "set", path: `${path}.fields.${/^[\w-]+$/.test(key) ? key : JSON.stringify(key)}`, value: box.value }], `${name}: ${key}`, gesture),
    });
    return el("div", { class: "control" }, el("label", { for: id }, key), el("div", { class: "value" }, box));
  }));
}

export function settings(id) {
  const kind = rowOf(id).kind;
  const groups = GROUPS[kind].map(([table, place, title]) => group(table, place, title, id));
  const node = el("div", { class: "settings" }, groups.map((one) => one.node));
  return { node, update: () => groups.forEach((one) => one.update()) };
}
