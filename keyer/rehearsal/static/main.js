// The page put together: what is heard from keyer, what the keyboard does.

import { $, el } from "./dom.js";
import { connect, on, send } from "./link.js";
import { go, look, now, tell, unfold, when } from "./state.js";
import { timecode } from "./time.js";
import "./picture.js";
import "./rows.js";
import "./hands.js";
import "./words.js";
import "./play.js";
import "./arrive.js";
import "./papers.js";
import "./wall.js";
import "./choose.js";
import "./numbers.js";
import { flip, toggle as compare } from "./compare.js";
import { choose, clientView, inClientView, step } from "./client.js";

const news = new Map();

function report(key, ...lines) {
  if (lines.length) news.set(key, lines);
  else news.delete(key);
  const said = [...news.values()].flat().map((line) => (typeof line === "string" ? el("p", {}, line) : line));
  const read = el("button", { type: "button", class: "read", "aria-label": "I have read this", title: "I have read this", onclick: () => (news.clear(), report("")) }, "✕");
  $("news").replaceChildren(...(said.length && now.sheet?.facts ? [read, ...said] : said));
}

// What is wrong with the sheet, each fault with the lines around it.
function faults(sheet) {
  if (!sheet.faults.length) return report("faults");
  const told = sheet.faults.flatMap((one) => [
    [one.file, one.path, one.line ? `line ${one.line}` : "", one.message].filter(Boolean).join(", "),
    one.near.length ? el("pre", { class: "near" }, one.near.map(([line, text]) =>
      el("span", { class: line === one.line ? "at" : null }, el("i", {}, String(line)), " ", text, "\n"))) : null,
  ]).filter(Boolean);
  const after = sheet.facts ? "The picture is that of the last sheet without any." : "Correct it where you wrote it; this page follows as soon as it is saved.";
  report("faults", `${sheet.name} has faults. ${after}`, ...told);
}

function bothChanged(sheet) {
  if (!sheet.theirs) return report("theirs");
  report("theirs", el("p", {}, `${sheet.name} was changed outside while it was changed here. `,
    el("button", { type: "button", onclick: () => send({ do: "choose", theirs: false }) }, "Keep the page's"),
    el("button", { type: "button", onclick: () => send({ do: "choose", theirs: true }) }, "Take the file's"),
    " The other stays one undo away."));
}

on("sheet", (sheet) => {
  const first = now.sheet === null;
  now.sheet = sheet;
  document.body.classList.toggle("open", Boolean(sheet.facts));
  faults(sheet);
  bothChanged(sheet);
  if (first && sheet.takenUp) report("takenUp", "Your unsaved changes have been restored. Undo takes them back.");
  $("undo").disabled = !sheet.undo;
  $("redo").disabled = !sheet.redo;
  $("undo").title = sheet.undo ? `Undo: ${sheet.undo} (Ctrl Z)` : "Nothing to undo";
  $("redo").title = sheet.redo ? `Redo: ${sheet.redo} (Ctrl Shift Z)` : "Nothing to redo";
  $("save").disabled = !sheet.changed;
  $("saved").textContent = sheet.changed ? "Not saved yet" : "Saved";
  if (sheet.facts) {
    const { facts } = sheet;
    document.title = `${sheet.changed ? "• " : ""}${facts.title}`;
    $("title").textContent = facts.title;
    $("facts").textContent = `${sheet.name} · ${facts.format} · ${facts.length} frames · ${timecode(0, facts)} to ${facts.end}`;
    now.frame = Math.min(now.frame, facts.length - 1);
  }
  tell("sheet");
  tell("frameShown");
});

on("refused", (message) => report("refused", ...message.faults.map((one) => one.message)));
on("done", () => report("refused"));
on("closed", () => report("closed", "keyer does not answer. Start it again; the page takes up where it was."));
on("open", () => report("closed"));
when("caution", (message) => (message ? report("caution", el("p", {}, message, " ",
  el("button", { type: "button", onclick: () => send({ do: "make", paper: "check", frame: now.frame }) }, "Check it now"))) : report("caution")));
when("arriving", (message) => (message ? report("arriving", message) : report("arriving")));
when("pictureError", (message) => (message ? report("picture", message) : report("picture")));

function moment() {
  const { facts } = now.sheet;
  $("timecode").textContent = timecode(now.frame, facts);
  $("frame").textContent = `frame ${now.frame} of ${facts.length}`;
}

function shown() {
  if (!now.sheet?.facts) return;
  moment();
  fader();
}

// Inside a transition, a slider from 0 to 100 % moves through it by hand.
function through() {
  for (const row of [...now.sheet.rows].reverse()) {
    for (const part of [row.enter, row.leave]) {
      if (row.kind === "sound" || !part?.length) continue;
      if (part.start - 1 <= now.frame && now.frame <= part.start + part.length) return { row, part };
    }
  }
  return null;
}

function fader() {
  const found = through();
  $("fader").classList.toggle("away", !found);
  $("fader").children[1].disabled = !found;
  if (!found) return;
  const share = (now.frame - found.part.start + 1) / (found.part.length + 1);
  const [label, slide, told] = $("fader").children;
  label.textContent = found.row.name;
  if (document.activeElement !== slide || !slide.matches(":active")) slide.value = 100 * share;
  told.textContent = `${Math.round(100 * share)} %`;
  slide.oninput = () => go(found.part.start - 1 + (Number(slide.value) / 100) * (found.part.length + 1));
}

when("moment", moment);
when("frame", shown);
when("frameShown", shown);

$("undo").onclick = () => send({ do: "undo" });
$("redo").onclick = () => send({ do: "redo" });
$("save").onclick = () => send({ do: "save" });
for (const button of document.querySelectorAll("[data-step]")) {
  button.onclick = () => go(now.frame + Number(button.dataset.step));
}

function light(name) {
  document.documentElement.dataset.light = name;
  $("light").textContent = name === "dark" ? "Bright" : "Dark";
  try {
    localStorage.setItem("light", name);
  } catch {
    // a browser that keeps nothing forgets it
  }
}
$("light").onclick = () => light(document.documentElement.dataset.light === "dark" ? "bright" : "dark");
let kept = null;
try {
  kept = localStorage.getItem("light");
} catch {
  kept = null;
}
light(kept ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "bright"));

$("client").onclick = clientView;
$("compare").onclick = compare;
$("whole").onclick = () => unfold("sheet");
$("glass").onclick = () => tell("glass");
$("safe").onclick = () => tell("safe");

const cues = () => [...new Set(now.sheet.rows.flatMap((row) => (row.kind === "sound" ? [] : [row.start, row.settles])))].sort((a, b) => a - b);
const VIEWS = ["picture", "matte", "key-signal", "subject", "spill", "source"];

const KEYS = [
  [["ArrowLeft"], "one frame back", () => go(now.frame - 1)],
  [["ArrowRight"], "one frame on", () => go(now.frame + 1)],
  [["Shift+ArrowLeft"], "one second back", () => go(now.frame - now.sheet.facts.count)],
  [["Shift+ArrowRight"], "one second on", () => go(now.frame + now.sheet.facts.count)],
  [["ArrowUp"], "to the cue before; in the client view, to the chosen still before", () => (inClientView() ? step(-1, cues()) : go(cues().filter((one) => one < now.frame).pop() ?? 0))],
  [["ArrowDown"], "to the next cue; in the client view, to the next chosen still", () => (inClientView() ? step(1, cues()) : go(cues().find((one) => one > now.frame) ?? now.sheet.facts.length - 1))],
  [["Home"], "to the first frame", () => go(0)],
  [["End"], "to the last frame", () => go(now.sheet.facts.length - 1)],
  [[" "], "play, stop", () => tell("play")],
  [["1", "2", "3", "4", "5", "6"], "picture, matte, key signal, subject, spill, source", (key) => look(VIEWS[Number(key) - 1])],
  [["s"], "safe areas", () => tell("safe")],
  [["l"], "loupe: the pixels under the pointer", () => tell("glass")],
  [["b"], "compare with the sheet as it is saved", compare],
  [["f"], "flip between the saved picture and now", flip],
  [["k"], "choose this frame, to show it to the client", choose],
  [["t"], "settings of the whole spot", () => unfold("sheet")],
  [["c"], "client view", clientView],
  [["Escape"], "leave the client view", () => inClientView() && clientView()],
  [["Control+z"], "undo", () => send({ do: "undo" })],
  [["Control+Shift+z", "Control+y"], "redo", () => send({ do: "redo" })],
  [["Control+s"], "save", () => send({ do: "save" })],
  [["?"], "this list", () => help()],
];

function help() {
  const rows = KEYS.flatMap(([keys, words]) => [
    el("dt", {}, keys.flatMap((key, n) => [n ? " " : "", el("kbd", {}, key === " " ? "space" : key.replace("Control", "Ctrl").replace("Arrow", ""))])),
    el("dd", {}, words),
  ]);
  $("help").replaceChildren(el("div", { class: "top" }, el("h2", {}, "Keys of the keyboard"),
    el("button", { type: "button", onclick: () => $("help").close() }, "Close")), el("dl", {}, rows));
  $("help").showModal();
}
$("keys").onclick = help;

addEventListener("keydown", (event) => {
  const name = [event.ctrlKey || event.metaKey ? "Control+" : "", event.shiftKey && event.key !== "?" ? "Shift+" : "", event.key.length === 1 ? event.key.toLowerCase() : event.key].join("");
  const typing = event.target.matches("input:not([type=checkbox]):not([type=range]), select, textarea");
  if (typing && event.key === "Escape") event.target.blur();
  if (typing && !(name.startsWith("Control+") && name === "Control+s")) return;
  if (document.querySelector("dialog[open]")) return;
  if (event.target.matches("input[type=range]") && event.key.startsWith("Arrow")) return;
  if (event.key === " " && event.target.matches("button")) return;
  const known = KEYS.find(([keys]) => keys.includes(name));
  if (!known || !now.sheet?.facts) return;
  event.preventDefault();
  known[2](event.key);
});

const told = await (await fetch("/controls")).json();
now.controls = told.controls;
now.kinds = told.kinds;
now.names = told.names;
connect();
