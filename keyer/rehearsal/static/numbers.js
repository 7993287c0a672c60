// A key's or a title's numbers, live: what was found, whether it holds, what to do, the scopes.

import { el } from "./dom.js";
import { answered, edit, on, send } from "./link.js";
import { now, row as rowOf, value, when } from "./state.js";

const REST_MS = 500;
let place = null;
let of = "";
let wait = 0;
let tag = 0;
let asked = "";

// Remedies that can be done here, as edits of the key: what keyer has tried on this very picture
// and found to help, and what needs no trial.
let tried = {};

function remedies(path, known, one) {
  const found = [];
  const helps = tried[one.measure];
  if (helps?.words) found.push([`Set ${helps.words}`, helps.edits]);
  if (/fine/.test(one.remedy) && value(path, "quality") !== "fine" && value(path, "kind") === "chroma") found.push(["Key finely", [{ act: "set", path: `${path}.quality`, value: "fine" }]]);
  if (one.measure.startsWith("spill") && (value(path, "spill") ?? 100) < 100) found.push(["All of the spill", [{ act: "set", path: `${path}.spill`, value: 100 }]]);
  const buttons = found.map(([label, edits]) =>
    el("button", { type: "button", onclick: () => edit(edits, `${rowOf(of).name}: ${label.toLowerCase()}`) }, label));
  if (helps && !helps.words) buttons.push(el("span", { class: "grey" }, "None of the settings that were tried helps."));
  return buttons;
}

const number = (one) => Number(one.toPrecision(3));

function show(known) {
  const path = `${of}.key`;
  const rows = known.verdicts.map((one) => el("tr", {},
    el("td", {}, el("span", { class: `verdict ${one.verdict}` }, one.verdict)),
    el("td", {}, one.name, el("span", { class: "line grey" }, one.value)),
    el("td", {}, one.remedy, one.verdict === "holds" ? null : [" ", ...remedies(path, known, one)])));
  const scopes = known.scopes.map((one, n) => el("img", { class: "scope", alt: n ? "Waveform of the picture as recorded" : "Vectorscope of the picture as recorded",
    src: `data:image/svg+xml,${encodeURIComponent(one.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ').replace(/class="rule[^"]*"/g, 'stroke="#8a949c" stroke-width=".7" fill="none"').replaceAll('class="mark"', 'fill="none" stroke="#57616a"').replace(/class="(bar|side)"/g, 'font-size="10" font-family="sans-serif" fill="#57616a" text-anchor="middle"'))}` }));
  const used = Object.entries(known.used).map(([key, one]) => `${key.replace(/_.*/, "")} ${number(one)}`).join(", ");
  place.replaceChildren(...[
    known.error && el("p", { class: "fault" }, known.error),
    used && el("p", {}, el("b", {}, "In use: "), used, " ", el("button", { type: "button", title: "Write these into the sheet, to be changed by hand", onclick: () => keep(path, known.used) }, "Set by hand")),
    known.reasons.length && el("details", {}, el("summary", {}, "Why"), el("ul", {}, known.reasons.map((one) => el("li", {}, one)))),
    el("div", { class: "held" }, el("table", { class: "found" }, el("tbody", {}, rows)), el("div", { class: "scopes" }, scopes)),
  ].filter(Boolean));
}

function keep(path, used) {
  const names = { hue_deg: "hue", acceptance_deg: "acceptance", clip_percent: "clip", gain: "gain", spill_percent: "spill" };
  const edits = Object.entries(used).filter(([key]) => names[key]).map(([key, one]) => ({ act: "set", path: `${path}.${names[key]}`, value: number(one) }));
  edit(edits, `${rowOf(of).name}: key set by hand`);
}

function ask() {
  clearTimeout(wait);
  const row = rowOf();
  if (!row || now.playing || !place?.isConnected) return;
  const inside = row.start <= now.frame && now.frame < row.stop;
  const frame = inside ? now.frame : row.settles;
  const key = `${now.sheet.revision}:${row.id}:${frame}`;
  if (key === asked) return;
  wait = setTimeout(() => {
    asked = key;
    tag += 1;
    tried = {};
    of = row.id;
    send({ do: "measure", path: row.id, frame, tag });
  }, REST_MS);
}

let shown = null;

on("picture", (head, data) => {
  if (head.tag !== tag || !place) return;
  const read = () => JSON.parse(new TextDecoder().decode(data));
  if (head.slot === "measure") {
    shown = head.error ? null : read();
    if (head.error) place.replaceChildren(el("p", { class: "fault" }, head.error));
    else show(shown);
  }
  if (head.slot === "remedies" && !head.error && shown) {
    tried = read();
    if (Object.keys(tried).length && !place.contains(document.activeElement)) show(shown);
  }
});

// Under the settings of a row with a key or a title there is a place for its numbers.
when("group", ({ table, path, id, extra }) => {
  if (table !== "key" && table !== "title") return;
  const panel = extra.closest(".settings");
  let here = panel?.querySelector(".numbers");
  const holds = table === "title" ? now.sheet.settings?.[path] : value(path, "kind");
  if (!holds) {
    if (table === "key" && !now.sheet.settings?.[`sources.${rowOf(id)?.source}.title`]) here?.remove();
    return;
  }
  if (panel && !here) {
    here = el("section", { class: "numbers", "aria-label": "Does it hold?" });
    panel.append(here);
    asked = "";
  }
  place = here ?? place;
  of = id;
  ask();
});
for (const what of ["sheet", "frame", "playing"]) when(what, ask);

// Under a sound's settings: whether the mix of all sound holds.
let mix = "";

when("group", async ({ table, extra }) => {
  if (table !== "sound" || (mix === now.sheet.sound && extra.children.length)) return;
  mix = now.sheet.sound;
  const answer = await answered("/loudness");
  if (!answer.ok) return;
  const found = await answer.json();
  const rows = found.map((one) => el("tr", {}, el("td", {}, el("span", { class: `verdict ${one.verdict}` }, one.verdict)),
    el("td", {}, one.name, el("span", { class: "line grey" }, one.value)), el("td", {}, one.remedy, el("span", { class: "line grey" }, one.limit))));
  extra.replaceChildren(el("h3", {}, "All sound together"), el("table", { class: "found" }, el("tbody", {}, rows)));
});
