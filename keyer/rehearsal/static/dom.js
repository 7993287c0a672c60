// Elements made in one call; texts are always texts, never markup.

export function el(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  set(made, attributes);
  made.append(...children.flat().filter((one) => one !== null && one !== undefined && one !== false));
  return made;
}

export function svg(name, attributes = {}, ...children) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

export function set(node, attributes) {
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "style") Object.assign(node.style, value);
    else if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else if (key in node && key !== "list" && typeof value !== "string") node[key] = value;
    else if (value !== null && value !== undefined && value !== false) node.setAttribute(key, value === true ? "" : value);
  }
}

export const $ = (id) => document.getElementById(id);

// One pointer's drag: `move` is told how far it has come, in shares of `box`.
export function draggable(node, { start, move, end, box }) {
  node.addEventListener("pointerdown", (down) => {
    if (down.button !== 0) return;
    down.preventDefault();
    down.stopPropagation();
    node.focus({ preventScroll: true });
    node.setPointerCapture(down.pointerId);
    const frame = box().getBoundingClientRect();
    const held = start(down, frame);
    if (held === false) return;
    node.classList.add("held");
    const moved = (event) => {
      const x = (event.clientX - down.clientX) / frame.width;
      const y = (event.clientY - down.clientY) / frame.height;
      move(held, x, y, event);
    };
    const stop = (event) => {
      node.classList.remove("held");
      node.removeEventListener("pointermove", moved);
      node.removeEventListener("pointerup", stop);
      node.removeEventListener("pointercancel", stop);
      end?.(held, event);
    };
    node.addEventListener("pointermove", moved);
    node.addEventListener("pointerup", stop);
    node.addEventListener("pointercancel", stop);
  });
}

// What a drag says, beside the pointer and always within the window.
export function beside(told, event, words) {
  told.textContent = words;
  if (!told.isConnected) document.body.append(told);
  const { width, height } = told.getBoundingClientRect();
  const left = Math.min(event.clientX + 14, innerWidth - width - 8);
  const top = Math.max(event.clientY - height - 12, 4);
  Object.assign(told.style, { left: `${left}px`, top: `${top}px` });
}

let count = 0;
export const fresh = (stem) => `${stem}-${Date.now().toString(36)}-${(count += 1)}`;
