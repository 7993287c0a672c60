// Every kind of control, told its value at each change of the sheet, and what a change of it does.

import { el, fresh, set } from "./dom.js";
import { edit } from "./link.js";
import { now, tell } from "./state.js";
import { timecode } from "./time.js";

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
  look(facts, change) {
    const list = el("select", { onchange: () => change(list.value) });
    return {
      parts: [list], first: list,
      show: (value) => {
        list.replaceChildren(...now.sheet.looks.map((name) => el("option", { value: name }, name)));
        list.value = value ?? "";
      },
    };
  },
  text(facts, change) {
    const id = fresh("suggested");
    const typed = el("input", { type: "text", onchange: () => change(typed.value === "" && !facts.needed ? undefined : typed.value) });
    const suggested = facts.suggested?.length ? el("datalist", { id }, facts.suggested.map((one) => el("option", { value: one }))) : null;
    if (suggested) typed.setAttribute("list", id);
    return {
      parts: [typed, suggested], first: typed,
      show: (value) => {
        if (document.activeElement !== typed) typed.value = value ?? "";
        typed.placeholder = facts.absent ?? "";
      },
    };
  },
  words(facts, change) {
    let gesture = null;
    const read = () => (facts.control === "figure" && typed.value !== "" && !Number.isNaN(Number(typed.value)) ? Number(typed.value) : typed.value);
    const typed = el("input", { type: "text", name: facts.key, onfocus: () => (gesture = fresh(facts.key)), oninput: () => change(read(), gesture) });
    return {
      parts: [typed], first: typed,
      show: (value) => document.activeElement !== typed && (typed.value = value ?? ""),
    };
  },
};
MADE.figure = MADE.words;
MADE.whole = MADE.number;
MADE.colours = MADE.text;

// The path of a key, in quotes where it has to be.
export const keyPath = (path, key) => `${path}.${/^[\w-]+$/.test(key) ? key : JSON.stringify(key)}`;

export function control(facts, path, name) {
  const own = keyPath(path, facts.key);
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
    apply(own, value, gesture);
  };
  // a value that others share: here, or everywhere?
  let chosen = null;
  const ask = (known, value, gesture) => {
    if (chosen) {
      apply(chosen === "here" ? own : known.where, value, gesture);
      return;
    }
    const settle = (choice) => () => {
      chosen = choice;
      apply(choice === "here" ? own : known.where, value, gesture);
      origin.replaceChildren();
    };
    origin.replaceChildren(el("span", { class: "ask" }, `${known.where} is used elsewhere too. `,
      el("button", { type: "button", onclick: settle("here") }, "Here"),
      el("button", { type: "button", onclick: settle("everywhere") }, "Everywhere")));
  };
  const part = MADE[facts.control](facts, change, path);
  const id = fresh("control");
  set(part.first, { id });
  back.addEventListener("click", () => apply(own, undefined));
  const node = el("div", { class: "control", title: facts.meaning },
    el("label", { for: id }, facts.label), el("div", { class: "value" }, part.parts.filter(Boolean)), back, origin, fault);
  const show = () => {
    const known = held();
    part.show(known ? known.value : facts.default);
    back.style.visibility = known && known.origin === "own" && !facts.needed && facts.key !== "kind" ? "visible" : "hidden";
    if (!origin.querySelector(".ask")) {
      const words = { house: "from the house setting", variable: `from ${known?.where}`, include: `from ${known?.where}, which a change here leaves as it is` };
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
