// The picture: at the page's size while a hand moves, exact when it rests.

import { $, draggable, el } from "./dom.js";
import { on, send } from "./link.js";
import { look, now, tell, when } from "./state.js";

const canvas = $("canvas");
const context = canvas.getContext("2d", { alpha: false });
const VIEWS = [
  ["picture", "Picture"],
  ["matte", "Matte"],
  ["key-signal", "Key signal"],
  ["subject", "Subject"],
  ["spill", "Spill"],
  ["source", "Source"],
];
const REST_MS = 350;
let rest = 0;
let asked = 0;
let shown = 0;

// Its height as a share of the window's, as the person has set it.
const SHARE = 0.47;
let share = Number(localStorage.getItem("picture")) || SHARE;

function size(wanted) {
  share = Math.min(Math.max(wanted, 0.2), 0.8);
  localStorage.setItem("picture", share.toFixed(3));
  fit();
  ask();
}

// The picture is as large as the window lets it be, and never taller than the rows that are asked for.
export function fit() {
  const facts = now.sheet?.facts;
  if (!facts) return;
  const client = document.body.classList.contains("client");
  const wide = client ? innerWidth : document.querySelector("main").clientWidth;
  const high = client ? innerHeight - document.querySelector(".under").offsetHeight : Math.max(innerHeight * share, 150);
  const width = Math.min(wide, high * facts.shape);
  const picture = $("picture");
  $("size").setAttribute("aria-valuenow", Math.round(100 * share));
  picture.style.width = `${width}px`;
  picture.style.height = `${width / facts.shape}px`;
  document.querySelector(".under").style.width = client ? "" : `${Math.max(width, Math.min(wide, 1180))}px`;
  const rows = Math.min(Math.round((width / facts.shape) * Math.min(devicePixelRatio, 2)), 1080, facts.height);
  const steps = [180, 270, 360, 432, 540, 720, 900, 1080];
  now.rows = steps.find((one) => one >= rows) ?? 1080;
}

// The exact picture is asked for once the one under the hand is there and the hand rests: coded
// without loss it would be in the way of the next.
export function ask() {
  if (!now.sheet?.facts || now.playing) return;
  asked += 1;
  clearTimeout(rest);
  send({ do: "show", frame: now.frame, view: now.view, rows: now.rows, tag: asked });
}

function restAt(head) {
  clearTimeout(rest);
  if (head.tag !== asked || now.playing) return;
  rest = setTimeout(() => send({ do: "show", frame: now.frame, view: now.view, rows: null, tag: asked }), REST_MS);
}

export async function draw(data) {
  const bitmap = await createImageBitmap(new Blob([data]));
  if (canvas.width !== bitmap.width || canvas.height !== bitmap.height) {
    canvas.width = bitmap.width;
    canvas.height = bitmap.height;
  }
  context.drawImage(bitmap, 0, 0);
  bitmap.close();
}

export const pixels = () => canvas;

async function arrived(head, data) {
  if (head.slot !== "hand" && head.slot !== "rest") return;
  if (head.tag < shown) return;
  shown = head.tag;
  if (head.slot === "hand") restAt(head);
  if (head.error) {
    tell("pictureError", head.view === "picture" || keyedHere() ? head.error : "No key is seen on this frame, so there is nothing of it to look at.");
    return;
  }
  tell("pictureError", "");
  await draw(data);
  canvas.dataset.frame = head.frame;
  canvas.dataset.revision = head.revision;
  canvas.dataset.exact = head.exact;
  tell("drawn", head);
}

// All but the first are of the topmost key, and there is not always one.
const keyedHere = () => Boolean(now.sheet?.rows?.some((row) => row.keyed && row.start <= now.frame && now.frame < row.stop));
let offered = null;

function views() {
  offered = keyedHere();
  $("views").replaceChildren(
    ...VIEWS.map(([view, label]) =>
      el(
        "button",
        {
          type: "button", role: "radio", "aria-checked": String(view === now.view), onclick: () => look(view),
          disabled: view !== "picture" && view !== now.view && !offered, title: offered || view === "picture" ? null : "No key is seen on this frame",
        },
        label,
      ),
    ),
  );
}

function offer() {
  if (!now.playing && keyedHere() !== offered) views();
}

on("picture", arrived);
when("frame", ask);
when("frame", offer);
when("view", () => {
  views();
  ask();
});
when("sheet", () => {
  fit();
  ask();
  offer();
});
draggable($("size"), {
  box: () => document.documentElement,
  start: (event) => event.clientY - share * innerHeight,
  move: (from, x, y, event) => size((event.clientY - from) / innerHeight),
});
$("size").addEventListener("keydown", (event) => {
  const by = { ArrowUp: -0.03, ArrowDown: 0.03 }[event.key];
  if (!by) return;
  event.preventDefault();
  event.stopPropagation();
  size(share + by);
});
addEventListener("resize", () => {
  fit();
  ask();
});
views();
