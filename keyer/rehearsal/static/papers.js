// Papers, stills and clips made from the page; findings of a check, in the rows and by name.

import { $, el } from "./dom.js";
import { answered, on, send } from "./link.js";
import { go, now, tell, unfold, when } from "./state.js";

const KINDS = [
  ["check", "Check", "every frame: levels, flashing, keys, titles, timing"],
  ["cues", "Cue sheet", "a page to print"],
  ["board", "Storyboard", "a PDF"],
  ["report", "Report", "all of it on one page"],
  ["still", "Still", "of this frame, a PNG"],
  ["clip", "Clip", "an MP4"],
  ["approve", "Approve", "keep this version as it was seen, so that a later change shows; no signature"],
  ["variations", "Variations", ""],
  ["client", "For the client", "the chosen stills in one HTML file, with room for remarks"],
];
let busy = null;
let last = null;
const lines = [];

function section() {
  if (!now.sheet?.facts) return $("papers").replaceChildren();
  const buttons = KINDS.filter(([kind]) => kind !== "variations").map(([kind, label, words]) =>
    el("button", { type: "button", title: words, disabled: Boolean(busy), onclick: () => send({ do: "make", paper: kind, frame: now.frame }) }, label));
  const progress = busy && el("p", { role: "status" },
    `${KINDS.find(([kind]) => kind === busy.kind)[1]}: ${busy.total ? `${busy.done} of ${busy.total} frames` : "begun"}. `,
    el("button", { type: "button", onclick: () => send({ do: "stop" }) }, "Stop"));
  return $("papers").replaceChildren(...[
    el("h2", {}, "Papers"),
    el("p", { class: "grey" }, "They are made of the sheet as it is on this page, and lie beside it."),
    el("div", { class: "tools" }, buttons, reader()), progress, ...lines.map((line) => el("p", {}, line)), last && findings(),
  ].filter(Boolean));
}

// Remarks that came back from a client.
function reader() {
  const file = el("input", { type: "file", accept: ".json", hidden: true, onchange: async () => {
    const answer = await answered("/remarks", { method: "POST", body: file.files[0] });
    const told = await answer.json();
    lines.length = 0;
    lines.push(answer.ok ? `${told.count} new remarks.` : told.error);
    section();
  } });
  return el("span", {}, file, el("button", { type: "button", onclick: () => file.click() }, "Read remarks in"));
}

const said = (one) => now.names[one.check] ?? one.check.replace(".", ": ").replaceAll("_", " ");

function findings() {
  const bad = last.findings.filter((one) => one.verdict !== "holds");
  const stale = last.digest !== now.sheet.digest;
  const head = el("p", {}, el("span", { class: `verdict ${last.verdict}` }, last.verdict), ` ${bad.length} of ${last.findings.length} findings need a look.`,
    stale && " The sheet has changed since.");
  const rows = bad.map((one) => el("tr", {},
    el("td", {}, el("span", { class: `verdict ${one.verdict}` }, one.verdict)),
    el("td", {}, el("button", { type: "button", onclick: () => see(one) }, one.worst_timecode)),
    el("td", {}, el("b", {}, said(one)), one.subject && ` · ${one.subject.replace(/^\w+\[\d+\] /, "")}`, el("span", { class: "line" }, one.remedy), el("span", { class: "line grey" }, `${one.limit}; ${one.source}`))));
  return el("div", {}, head, el("table", { class: "found" }, el("tbody", {}, rows)), el("p", { class: "grey" }, last.caution));
}

const rowOf = (one) => now.sheet.rows.find((row) => one.subject.startsWith(row.id))
  ?? now.sheet.rows.find((row) => row.kind === "cue" && row.start <= one.worst && one.worst < row.stop);

function see(one) {
  go(one.worst);
  const row = rowOf(one);
  if (row && now.unfolded !== row.id) unfold(row.id);
  document.querySelector(`[data-row="${row?.id}"]`)?.scrollIntoView({ block: "center" });
}

// A mark on the bar of whom it concerns; a click goes there.
function marks() {
  document.querySelectorAll(".finding").forEach((one) => one.remove());
  if (!last || !now.sheet?.rows) return;
  for (const one of last.findings) {
    const row = one.verdict !== "holds" && rowOf(one);
    const lane = row && document.querySelector(`[data-row="${row.id}"] .lane`);
    if (!lane) continue;
    const { length } = now.sheet.facts;
    lane.append(el("button", {
      type: "button", class: `finding ${one.verdict}`, title: `${said(one)}, ${one.first_timecode}`, "aria-label": `${said(one)}, ${one.verdict}`,
      style: { left: `${(100 * one.first) / length}%`, width: `${Math.max((100 * (one.last - one.first + 1)) / length, 0.8)}%` }, onclick: () => see(one),
    }));
  }
}

on("paper", (message) => {
  busy = message.over ? null : message;
  if (message.over) {
    const label = KINDS.find(([kind]) => kind === message.kind)[1];
    lines.length = 0;
    if (message.error) lines.push(`${label}: ${message.error}`);
    else if (message.stopped) lines.push(`${label}: stopped; nothing was half-written.`);
    else if (message.file) lines.push(`${label}: ${message.file} lies beside the sheet.`, ...(message.notices ?? []));
    if (message.check) last = message.check;
    if (message.flashes === now.sheet.digest) {
      now.sheet.flashes = "holds";
      tell("caution", "");
    }
  }
  section();
  marks();
});
when("sheet", () => {
  section();
  marks();
});
