// What the page knows: the sheet as keyer told it last, and where the person is.

export const now = {
  sheet: null,
  controls: null,
  kinds: null,
  names: {},
  frame: 0,
  view: "picture",
  unfolded: null,
  rows: 540,
  playing: false,
};

const listeners = new Map();

export function when(what, listener) {
  if (!listeners.has(what)) listeners.set(what, []);
  listeners.get(what).push(listener);
}

export function tell(what, ...facts) {
  for (const listener of listeners.get(what) ?? []) listener(...facts);
}

export function go(frame) {
  if (!now.sheet?.facts) return;
  const last = now.sheet.facts.length - 1;
  const next = Math.min(Math.max(Math.round(frame), 0), last);
  if (next === now.frame) return;
  now.frame = next;
  tell("frame");
}

export function look(view) {
  now.view = view;
  tell("view");
}

export function unfold(id) {
  now.unfolded = now.unfolded === id ? null : id;
  tell("unfolded");
}

const WHOLE = { id: "sheet", kind: "sheet", name: "Spot", source: null };

export const row = (id = now.unfolded) => (id === "sheet" ? WHOLE : now.sheet?.rows?.find((one) => one.id === id) ?? null);

// Value of a key as it holds, or undefined.
export const value = (path, key) => now.sheet?.settings?.[path]?.[key]?.value;
