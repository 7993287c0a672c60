// Rows put in and taken out.

import { el } from "./dom.js";
import { edit } from "./link.js";
import { chooser } from "./arrive.js";
import { telling } from "./choose.js";
import { go, now, row as rowOf, unfold } from "./state.js";
import { chooseTitle } from "./titles.js";

const count = (kind) => now.sheet.rows.filter((row) => row.kind === kind).length;

// A shot goes where it belongs in time; the sheet keeps its cues in order.
function shot(source, made = []) {
  const later = now.sheet.rows.filter((row) => row.kind === "cue" && row.start <= now.frame).length;
  const value = { source, at: now.frame, transition: { kind: "mix", length: now.sheet.facts.count } };
  return edit([...made, { act: "insert", path: `cues[${later}]`, value }], "a shot");
}

// A picture that keyer makes itself, as a shot.
function generated(stem, value) {
  const taken = new Set(now.sheet.sources.map((one) => one.name));
  let name = stem;
  for (let n = 2; taken.has(name); n += 1) name = `${stem}-${n}`;
  return shot(name, [{ act: "set", path: `sources.${name}`, value }]);
}

function over(source) {
  const { facts, frame } = { facts: now.sheet.facts, frame: now.frame };
  const value = { source, in: frame, out: Math.min(frame + 4 * facts.count, facts.length) };
  return edit([{ act: "insert", path: `overlays[${count("overlay")}]`, value }], "an overlay");
}

// What is new is shown where it is seen: a shot half-way through its transition.
async function put(act, id) {
  const faults = await act;
  if (faults.length) return;
  unfold(id());
  const row = rowOf(id());
  if (row?.kind === "cue") go(telling(`${row.id}.transition`, row));
}

export function adder() {
  const list = el("select", { "aria-label": "Source" }, now.sheet.sources.map((one) => el("option", { value: one.name }, one.name)));
  const here = () => now.sheet.rows.filter((row) => row.kind === "cue" && row.start <= now.frame).at(-1).id;
  const button = (label, act) => el("button", { type: "button", onclick: act }, label);
  return el("div", { class: "adder" },
    el("span", { class: "grey" }, "Here, add"), list,
    button("as a shot", () => put(shot(list.value), here)),
    button("laid over", () => put(over(list.value), () => `overlays[${count("overlay") - 1}]`)),
    el("span", { class: "grey" }, "or"),
    button("a title…", chooseTitle),
    button("a colour", () => put(generated("colour", { colour: "#26323A" }), here)),
    button("a moving background", () => put(generated("background", { background: { look: now.sheet.looks[0], loop: "10s" } }), here)),
    chooser("bring in files"));
}

export function rowTools(id) {
  const row = rowOf(id);
  const [list, index] = [id.split("[")[0], Number(id.match(/\[(\d+)\]/)[1])];
  const tools = [];
  if (row.kind === "overlay") {
    const top = count("overlay") - 1;
    if (index < top) tools.push(["Above the next", [{ act: "move", path: id, value: index + 1 }], "lies higher", `${list}[${index + 1}]`]);
    if (index > 0) tools.push(["Below the one before", [{ act: "move", path: id, value: index - 1 }], "lies lower", `${list}[${index - 1}]`]);
  }
  tools.push(["Remove", [{ act: "remove", path: id }], "removed", null]);
  return tools.map(([label, edits, words, to]) => el("button", {
    type: "button",
    onclick: async () => {
      const faults = await edit(edits, `${row.name}: ${words}`);
      if (!faults.length && to && now.unfolded === id) unfold(to);
    },
  }, label));
}
