// A number typed for what a hand holds: begin to type, or press Enter, on any handle or grip.

import { el } from "./dom.js";

// `words` says what stands; `take` is given the text, and answers what is wrong with it, or nothing.
export function typeable(node, { words, take }) {
  node.title = `${node.title}${node.title ? "; " : ""}type a number for it`;
  node.addEventListener("keydown", (event) => {
    const begins = /^[-+.0-9]$/.test(event.key);
    if (event.ctrlKey || event.metaKey || event.altKey || !(begins || event.key === "Enter")) return;
    event.preventDefault();
    event.stopPropagation();
    open(node, begins ? event.key : words(), take);
  });
}

function open(node, text, take) {
  const { left, bottom } = node.getBoundingClientRect();
  const typed = el("input", { type: "text", class: "typed", spellcheck: "false", "aria-label": node.title });
  typed.value = text;
  const close = () => {
    typed.removeEventListener("blur", close);
    typed.remove();
    if (node.isConnected) node.focus({ preventScroll: true });
  };
  typed.addEventListener("keydown", async (event) => {
    event.stopPropagation();
    if (event.key === "Escape") close();
    if (event.key !== "Enter") return;
    const fault = await take(typed.value.trim());
    if (fault) typed.setCustomValidity(fault);
    if (fault) typed.reportValidity();
    else close();
  });
  typed.addEventListener("input", () => typed.setCustomValidity(""));
  typed.addEventListener("blur", close);
  Object.assign(typed.style, { left: `${Math.min(left + scrollX, scrollX + innerWidth - 160)}px`, top: `${bottom + scrollY + 2}px` });
  document.body.append(typed);
  typed.focus({ preventScroll: true });
}

// Numbers of a text, as many as are wanted; null where it is something else.
export function numbers(text, count) {
  const found = text.replaceAll("%", "").split(/[\s,;]+/).filter(Boolean).map(Number);
  return found.length === count && found.every(Number.isFinite) ? found : null;
}

export const faultOf = (faults) => faults.map((one) => one.message).join(" ");
