// Compare: another version against now, by a line across the picture, by flipping, in words.

import { $, draggable, el } from "./dom.js";
import { on, send } from "./link.js";
import { now, when } from "./state.js";

const before = el("canvas", { id: "before", hidden: true, role: "img", "aria-label": "The version that is compared with" });
const line = el("button", { type: "button", id: "split", hidden: true, title: "Drag: the other version at the left, now at the right", "aria-label": "Where the other version ends" });
const list = el("div", { id: "changes" });
let on_ = false;
let place = 50;
let tag = 0;
let against = "saved";

function show() {
  before.style.clipPath = `inset(0 ${100 - place}% 0 0)`;
  line.style.left = `${place}%`;
}

function ask() {
  if (!on_ || now.playing) return;
  tag += 1;
  send({ do: "show", of: "before", frame: now.frame, view: now.view, rows: now.rows, tag });
}

export function toggle() {
  on_ = !on_ && Boolean(now.sheet?.facts);
  before.hidden = !on_;
  line.hidden = !on_;
  $("compare").setAttribute("aria-pressed", String(on_));
  list.replaceChildren();
  if (!on_) return;
  place = 50;
  show();
  send({ do: "compare", with: against });
  ask();
}

// Flip: all of one, then all of the other.
export function flip() {
  if (!on_) toggle();
  place = place > 50 ? 0 : 100;
  show();
}

draggable(line, {
  box: () => $("picture"),
  start: () => place,
  move: (from, x) => {
    place = Math.min(Math.max(from + 100 * x, 0), 100);
    show();
  },
});
line.addEventListener("keydown", (event) => {
  const by = { ArrowLeft: -2, ArrowRight: 2 }[event.key];
  if (!by) return;
  event.preventDefault();
  event.stopPropagation();
  place = Math.min(Math.max(place + by, 0), 100);
  show();
});

on("picture", async (head, data) => {
  if (head.slot !== "before" || head.tag !== tag || head.error) return;
  const bitmap = await createImageBitmap(new Blob([data]));
  before.width = bitmap.width;
  before.height = bitmap.height;
  before.getContext("2d").drawImage(bitmap, 0, 0);
  bitmap.close();
});

on("changes", ({ changes, others }) => {
  const choose = el("select", { "aria-label": "Compare with", onchange: () => {
    against = choose.value;
    send({ do: "compare", with: against });
    ask();
  } }, others.map((one) => el("option", { value: one.name }, one.label)));
  choose.value = against;
  list.replaceChildren(
    el("p", { class: "grey" }, "Left of the line: ", choose, " Right of it: now. F flips."),
    changes.length
      ? el("ul", {}, changes.map((one) => el("li", {}, one.who && el("b", {}, `${one.who}: `), one.what)))
      : el("p", {}, "Nothing has changed."),
  );
});

$("picture").append(before, line);
document.querySelector(".stage").append(list);
when("frame", ask);
when("view", ask);
when("sheet", () => {
  if (!on_) return;
  send({ do: "compare", with: against });
  ask();
});
