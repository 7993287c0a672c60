// The client view: the picture alone, chosen stills to step through, remarks pinned to frames.

import { $, el } from "./dom.js";
import { edit } from "./link.js";
import { fit } from "./picture.js";
import { go, now, tell, when } from "./state.js";
import { timecode } from "./time.js";

const stills = () => now.sheet.facts.stills;

export const inClientView = () => document.body.classList.contains("client");

export function clientView() {
  document.body.classList.toggle("client");
  if (inClientView()) document.documentElement.requestFullscreen?.().catch(() => {});
  else if (document.fullscreenElement) document.exitFullscreen();
  if (inClientView() && stills().length && !stills().includes(now.frame)) go(stills()[0]);
  fit();
  tell("view");
  tell("client");
  bar();
}

// The chosen still before or after; every cue where none is chosen.
export function step(way, cues) {
  const frames = stills().length ? stills() : cues;
  const found = way > 0 ? frames.find((one) => one > now.frame) : frames.filter((one) => one < now.frame).pop();
  if (found !== undefined) go(found);
}

export function choose() {
  const chosen = stills();
  const next = chosen.includes(now.frame) ? chosen.filter((one) => one !== now.frame) : [...chosen, now.frame].sort((a, b) => a - b);
  const change = next.length ? { act: "set", path: "sheet.stills", value: next } : { act: "remove", path: "sheet.stills" };
  edit([change], next.length > chosen.length ? "a frame to show the client" : "a frame less to show");
}

const said = el("input", { type: "text", id: "remark", placeholder: "A remark on this frame", "aria-label": "A remark on this frame", maxlength: 500 });
said.addEventListener("keydown", async (event) => {
  event.stopPropagation();
  if (event.key === "Escape") said.blur();
  if (event.key !== "Enter" || !said.value.trim()) return;
  const value = { at: now.frame, text: said.value.trim() };
  const faults = await edit([{ act: "insert", path: `remarks[${now.sheet.written.remarks}]`, value }], "a remark");
  if (!faults.length) said.value = "";
});

const star = el("button", { type: "button", id: "choose", "aria-pressed": "false", title: "Show this frame to the client (K)", onclick: choose }, "Chosen");
const pinned = el("span", { id: "pinned" });

function bar() {
  if (!now.sheet?.facts) return;
  const chosen = stills();
  const here = chosen.indexOf(now.frame);
  star.textContent = here < 0 ? "Choose this frame" : `Chosen, ${here + 1} of ${chosen.length}`;
  star.setAttribute("aria-pressed", String(here >= 0));
  const remarks = now.sheet.remarks.filter((one) => one.at === now.frame);
  pinned.replaceChildren(...remarks.map((one) => el("span", { class: "remark" }, `“${one.text}”`, one.by && ` ${one.by}`,
    el("button", { type: "button", "aria-label": "Take the remark away", onclick: () => edit([{ act: "remove", path: `remarks[${one.index}]` }], "a remark less") }, "✕"))));
}

// Flags on the ruler: chosen frames and remarks.
function flags() {
  const lane = $("ruler");
  if (!lane) return;
  lane.querySelectorAll(".flag").forEach((one) => one.remove());
  const { facts, remarks } = now.sheet;
  const flag = (at, kind, title) => el("i", { class: `flag ${kind}`, title, style: { left: `${(100 * (at + 0.5)) / facts.length}%` } });
  lane.append(...facts.stills.map((at) => flag(at, "still", `chosen, ${timecode(at, facts)}`)), ...remarks.map((one) => flag(one.at, "said", one.text)));
}

const cues = () => [...new Set(now.sheet.rows.flatMap((row) => (row.kind === "sound" ? [] : [row.settles])))].sort((a, b) => a - b);
const way = (by, label, words) => el("button", { type: "button", class: "step", title: words, onclick: () => step(by, cues()) }, label);
document.querySelector(".client-bar").append(way(-1, "‹ Still before", "The chosen still before (up arrow)"), way(1, "Next still ›", "The next chosen still (down arrow)"), star, said, pinned,
  el("button", { type: "button", class: "step", title: "Back to the cue sheet (Escape)", onclick: clientView }, "Leave"));
when("sheet", () => {
  bar();
  flags();
});
when("frame", bar);
when("frameShown", bar);
document.addEventListener("fullscreenchange", () => {
  if (!document.fullscreenElement && inClientView()) clientView();
});
