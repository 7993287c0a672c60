// A board of variations on the page: take one or two settings, get the grid, click the one wanted.

import { $, el } from "./dom.js";
import { edit, on, send } from "./link.js";
import { go, now, row as rowOf, when } from "./state.js";

const dialog = $("choose-one");
let cells = [];

// Values around the one that holds, or all that there are.
function suggested(facts, value) {
  if (facts.choices) return facts.choices;
  if (facts.control === "design") return now.sheet.designs;
  if (facts.control === "look") return now.sheet.looks;
  if (facts.control === "switch") return [false, true];
  if (facts.control === "colour") return [value ?? "#FFFFFF", "#FFC83D", "#D94F30", "#2F7F86", "#FFFFFF", "#15191D"].filter((one, n, all) => all.indexOf(one) === n);
  if (facts.control === "pattern") return ["barWipe/leftToRight", "barnDoorWipe/vertical", "ellipseWipe/circle", "clockWipe/clockwiseTwelve", "boxWipe/topLeft", "irisWipe/rectangle"];
  if (facts.control === "number" || facts.control === "whole") {
    const held = value ?? facts.default ?? 1;
    const steps = held ? [0, 0.5, 1, 2, 4].map((by) => held * by) : [0, 1, 2, 4, 8];
    const fit = (one) => Math.min(Math.max(one, facts.low ?? -Infinity), facts.high ?? Infinity);
    const whole = (one) => (facts.control === "whole" ? Math.round(one) : Number(one.toPrecision(3)));
    return [...new Set(steps.map(fit).map(whole))];
  }
  return [];
}

function read(text) {
  return text.split(/[;,]/).map((one) => one.trim()).filter(Boolean).map((one) => {
    if (one === "true" || one === "false") return one === "true";
    return /^-?[0-9.]+$/.test(one) ? Number(one) : one;
  });
}

// One setting to vary: which, and its values.
function pick(options, none) {
  const values = el("input", { type: "text", "aria-label": "Values, with commas" });
  const list = el("select", { "aria-label": "Setting", onchange: () => fill() },
    none && el("option", { value: "" }, "nothing else"),
    options.map((one, n) => el("option", { value: String(n) }, one.label)));
  const fill = () => {
    const one = options[Number(list.value)];
    values.hidden = list.value === "";
    values.value = one && list.value !== "" ? suggested(one.facts, one.value).join(", ") : "";
  };
  fill();
  return { node: el("span", { class: "pick" }, list, values), said: () => (list.value === "" ? null : { path: options[Number(list.value)].path, values: read(values.value) }) };
}

// The frame here, or where it tells nothing of what is set at a path: half-way through the transition, or
// where the row has settled.
export function telling(path, row) {
  const way = /\.transition(_in|_out)?(\.|$)/.exec(path);
  const part = way && (way[1] === "_out" ? row.leave : row.enter);
  if (!part?.length) return row.start <= now.frame && now.frame < row.stop ? now.frame : row.settles;
  const share = (now.frame - part.start + 1) / (part.length + 1);
  return share > 0.15 && share < 0.85 ? now.frame : Math.floor(part.start + part.length / 2);
}

export function chooseAmong(path, options) {
  const row = rowOf();
  go(telling(path, row));
  const first = pick(options, false);
  const second = pick(options, true);
  const ask = () => {
    const choices = [first.said(), second.said()].filter(Boolean);
    send({ do: "vary", choices, frame: now.frame });
    dialog.dataset.choices = JSON.stringify(choices);
  };
  const print = () => send({ do: "make", paper: "variations", frame: now.frame, choices: JSON.parse(dialog.dataset.choices ?? "[]") });
  dialog.replaceChildren(
    el("div", { class: "top" }, el("h2", {}, `${row?.name ?? ""}: choose`),
      el("button", { type: "button", onclick: print }, "Print as a board"),
      el("button", { type: "button", onclick: () => dialog.close() }, "Close")),
    el("p", { class: "grey" }, "This frame with other values; click the one that you want."),
    el("p", {}, first.node, " and ", second.node, " ", el("button", { type: "button", class: "strong", onclick: ask }, "Show")),
    el("div", { class: "patterns variations", id: "variations" }));
  dialog.showModal();
  ask();
}

on("variations", (message) => {
  const say = (one) => `${one.path.split(".").pop().replaceAll("_", " ")} ${one.value}`;
  cells = message.cells.map(({ edits, fault }) => el("button", {
    type: "button", disabled: Boolean(fault), title: fault,
    onclick: async () => {
      await edit(edits, edits.map(say).join(", "));
      dialog.close();
    },
  }, el("img", { alt: "" }), edits.map(say).join(" · "), fault && el("span", { class: "line grey" }, fault)));
  $("variations").replaceChildren(...cells);
});

on("picture", (head, data) => {
  if (head.slot !== "wall" || typeof head.tag !== "number") return;
  if (head.error) cells[head.tag]?.append(el("span", { class: "line fault" }, head.error));
  if (head.error) return;
  const url = URL.createObjectURL(new Blob([data], { type: "image/jpeg" }));
  const picture = cells[head.tag]?.querySelector("img");
  if (!picture) return;
  picture.onload = () => URL.revokeObjectURL(url);
  picture.src = url;
});

when("choose", chooseAmong);
