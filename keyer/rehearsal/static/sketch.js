// What is drawn or picked with clicks on the picture: one thing at a time, until it is done or Escape is pressed.

import { $ } from "./dom.js";

const box = () => $("picture");
let held = null;

export const sketch = () => held;

export const percent = (event) => {
  const frame = box().getBoundingClientRect();
  return [(100 * (event.clientX - frame.left)) / frame.width, (100 * (event.clientY - frame.top)) / frame.height];
};

// `point` takes each click; `done`, where there is one, is Enter; `over` comes after all.
export function sketching(what) {
  sketched();
  held = what;
  box().style.cursor = "crosshair";
}

export function sketched() {
  const was = held;
  held = null;
  box().style.cursor = "";
  was?.over?.();
}

box().addEventListener("pointerdown", (event) => {
  if (!held || event.button !== 0) return;
  event.preventDefault();
  event.stopPropagation();
  held.point(event);
}, true);
addEventListener("keydown", (event) => {
  if (!held || (event.key !== "Escape" && event.key !== "Enter")) return;
  event.stopPropagation();
  event.preventDefault();
  if (event.key === "Enter" && held.done) held.done();
  else if (event.key === "Escape") sketched();
}, true);
