// The one connection to keyer: messages out, states and pictures in, joined again when it breaks.

const heard = new Map();
const waiting = new Map();
let socket = null;
let tries = 0;
let number = 0;

export function on(what, listener) {
  if (!heard.has(what)) heard.set(what, []);
  heard.get(what).push(listener);
}

function tell(what, ...facts) {
  for (const listener of heard.get(what) ?? []) listener(...facts);
}

export function send(message) {
  if (socket?.readyState !== WebSocket.OPEN) return false;
  socket.send(JSON.stringify(message));
  return true;
}

// A change of the sheet; resolves to the faults, none if it was taken.
export function edit(edits, label, gesture = null) {
  const tag = `e${(number += 1)}`;
  return new Promise((resolve) => {
    waiting.set(tag, resolve);
    if (!send({ do: "edit", edits, label, gesture, tag })) {
      waiting.delete(tag);
      resolve([{ message: "keyer does not answer; the change was not made." }]);
    }
  });
}

export const setting = (path, value, label, gesture) =>
  edit([value === undefined ? { act: "remove", path } : { act: "set", path, value }], label, gesture);

function unpack(buffer) {
  const length = new DataView(buffer).getUint32(0);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  return [head, buffer.slice(4 + length)];
}

export function connect() {
  socket = new WebSocket(`ws://${location.host}/live`);
  socket.binaryType = "arraybuffer";
  socket.onopen = () => {
    tries = 0;
    tell("open");
  };
  socket.onmessage = ({ data }) => {
    if (typeof data !== "string") {
      const [head, picture] = unpack(data);
      tell(head.do, head, picture);
      return;
    }
    const message = JSON.parse(data);
    if (message.do === "done" || message.do === "refused") {
      waiting.get(message.tag)?.(message.faults ?? []);
      waiting.delete(message.tag);
    }
    tell(message.do, message);
  };
  socket.onclose = () => {
    for (const resolve of waiting.values()) resolve([{ message: "keyer does not answer; the change was not made." }]);
    waiting.clear();
    tell("closed");
    tries += 1;
    setTimeout(connect, Math.min(250 * tries, 2000));
  };
}

// What keyer answers to a request; where it does not, an answer that says so.
export async function answered(address, options) {
  try {
    return await fetch(address, options);
  } catch {
    return { ok: false, json: async () => ({ error: "keyer does not answer. Start it again." }) };
  }
}
