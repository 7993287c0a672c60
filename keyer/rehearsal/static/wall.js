// The pattern wall: every pattern with the person's own two pictures, half-way through.

import { $, el } from "./dom.js";
import { on, send } from "./link.js";
import { telling } from "./choose.js";
import { go, row as rowOf, when } from "./state.js";

const dialog = $("wall");
let tiles = new Map();
let take = null;

function filter(text) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  for (const tile of tiles.values()) tile.hidden = !words.every((word) => tile.dataset.words.includes(word));
}

// A name may break after its slash and before a capital, nowhere else.
const breakable = (name) => name.split(/(?<=\/)|(?=[A-Z])/).flatMap((part, n) => (n ? [el("wbr"), part] : [part]));

when("wall", (path, change, chosen) => {
  take = change;
  go(telling(path, rowOf()));
  const search = el("input", { type: "search", placeholder: "circle, 119, barn…", "aria-label": "Find a pattern", oninput: () => filter(search.value) });
  dialog.replaceChildren(
    el("div", { class: "top" }, el("h2", {}, "Patterns"), search, el("button", { type: "button", onclick: () => dialog.close() }, "Close")),
    el("div", { class: "patterns", id: "patterns" }));
  dialog.dataset.chosen = chosen ?? "";
  dialog.showModal();
  search.focus();
  send({ do: "wall", path });
});

on("wall", ({ patterns }) => {
  tiles = new Map(patterns.map((one) => [one.name, el("button", {
    type: "button",
    title: one.words,
    "data-words": `${one.name} ${one.code ?? ""} ${one.words} ${one.family}`.toLowerCase(),
    "aria-pressed": String([one.name, String(one.code)].includes(dialog.dataset.chosen)),
    onclick: () => {
      dialog.close();
      take(one.name);
    },
  }, el("img", { alt: "" }), one.code === null ? null : el("b", {}, String(one.code)), breakable(one.name))]));
  $("patterns").replaceChildren(...tiles.values());
});

on("picture", (head, data) => {
  if (head.slot !== "wall" || head.error) return;
  const tile = tiles.get(head.tag);
  if (!tile) return;
  const url = URL.createObjectURL(new Blob([data], { type: "image/jpeg" }));
  const picture = tile.querySelector("img");
  picture.onload = () => URL.revokeObjectURL(url);
  picture.src = url;
});

dialog.addEventListener("close", () => {
  tiles.clear();
  dialog.replaceChildren();
});
