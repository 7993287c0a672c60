// A title put in: its design chosen by sight, over the frame that is shown.

import { $, el } from "./dom.js";
import { answered, edit, on, send } from "./link.js";
import { go, now, tell, unfold } from "./state.js";

const dialog = $("titles");
let cells = [];

export function chooseTitle() {
  dialog.replaceChildren(
    el("div", { class: "top" }, el("h2", {}, "A title"), el("button", { type: "button", onclick: () => dialog.close() }, "Close")),
    el("p", { class: "grey" }, "Over this frame, with example words; click the design that you want."),
    el("div", { class: "patterns variations", id: "designs" }));
  dialog.showModal();
  send({ do: "designs", frame: now.frame });
}

// A name that no source has.
function fresh(stem) {
  const plain = stem.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "") || "title";
  const taken = new Set(now.sheet.sources.map((one) => one.name));
  let name = plain;
  for (let n = 2; taken.has(name); n += 1) name = `${plain}-${n}`;
  return name;
}

async function take({ name }) {
  const answer = await answered(`/design?name=${encodeURIComponent(name)}`, { method: "POST" });
  const told = await answer.json();
  dialog.close();
  if (!answer.ok) {
    tell("arriving", told.error);
    return;
  }
  const source = fresh(told.name);
  const { facts, rows } = now.sheet;
  const count = rows.filter((row) => row.kind === "overlay").length;
  const length = Math.max(Math.round(facts.count / 2), 1);
  const out = Math.min(now.frame + 4 * facts.count, facts.length);
  const mix = { kind: "mix", length: Math.min(length, Math.floor((out - now.frame) / 2)) };
  const moves = mix.length > 0 ? { transition_in: mix, transition_out: mix } : {};
  const value = { name: told.name, source, in: now.frame, out, ...moves };
  const faults = await edit([
    { act: "set", path: `sources.${source}`, value: { title: { design: told.path, fields: told.fields } } },
    { act: "insert", path: `overlays[${count}]`, value },
  ], `a title: ${told.name}`);
  if (faults.length) return;
  unfold(`overlays[${count}]`);
  go(now.frame + mix.length); // where all of it is there, to be typed on
}

on("designs", (message) => {
  cells = message.cells.map((one) => el("button", { type: "button", title: one.about, onclick: () => take(one) },
    el("img", { alt: "" }), el("b", {}, one.title), one.about));
  $("designs")?.replaceChildren(...cells);
});

on("picture", (head, data) => {
  if (head.slot !== "wall" || !String(head.tag).startsWith("design ")) return;
  const picture = cells[Number(head.tag.slice(7))]?.querySelector("img");
  if (!picture || head.error) return;
  const url = URL.createObjectURL(new Blob([data], { type: "image/jpeg" }));
  picture.onload = () => URL.revokeObjectURL(url);
  picture.src = url;
});
