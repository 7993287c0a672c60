// What is dropped on the page, or picked: kept beside the sheet, and put into it.

import { $, el } from "./dom.js";
import { answered, edit } from "./link.js";
import { now, tell, when } from "./state.js";

const KINDS = ".png,.jpg,.jpeg,.tif,.tiff,.webp,.heic,.heif,.avif,.mp4,.mov,.mkv,.webm,.m4v,.gif,.wav,.flac,.mp3,.m4a,.aac,.ogg";

async function keep(file) {
  const answer = await answered(`/arrive?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file });
  const said = await answer.json();
  if (!answer.ok) throw new Error(said.error);
  return said;
}

// A name for a source, from its file's, that no other has.
function named(path, taken) {
  const stem = path.split("/").pop().replace(/\.[^.]*$/, "").replace(/[^A-Za-z0-9_-]/g, "-") || "picture";
  let name = stem;
  for (let n = 2; taken.has(name); n += 1) name = `${stem}-${n}`;
  taken.add(name);
  return name;
}

// Two pictures dropped on an empty page make a first effect at once.
function first(pictures, sounds) {
  const rate = 25;
  const shot = 4 * rate;
  const cues = pictures.map(({ name }, n) => ({
    source: name,
    ...(n ? { at: n * shot, transition: { kind: "wipe", length: rate, pattern: "barWipe/leftToRight", soft: 4 } } : {}),
  }));
  return [
    { act: "set", path: "version", value: 1 },
    { act: "set", path: "sheet", value: { title: "A first effect", format: "1080p25", length: Math.max(cues.length, 1) * shot } },
    ...pictures.map(({ name, path, clip }) => ({ act: "set", path: `sources.${name}`, value: clip ? { file: path, freeze: true } : { file: path } })),
    ...cues.map((value, n) => ({ act: "insert", path: `cues[${n}]`, value })),
    ...sounds.map(({ path }, n) => ({ act: "insert", path: `sound[${n}]`, value: { file: path } })),
  ];
}

// On a sheet, a picture becomes a shot where the person is, a sound begins there.
function more(pictures, sounds) {
  const { sheet, frame } = now;
  const edits = pictures.map(({ name, path, clip }) => ({ act: "set", path: `sources.${name}`, value: clip ? { file: path, freeze: true } : { file: path } }));
  const count = (kind) => sheet.rows.filter((row) => row.kind === kind).length;
  pictures.forEach(({ name }, n) => edits.push({ act: "insert", path: `overlays[${count("overlay") + n}]`, value: { source: name, in: frame } }));
  sounds.forEach(({ path }, n) => edits.push({ act: "insert", path: `sound[${count("sound") + n}]`, value: { file: path, at: frame } }));
  return edits;
}

async function take(files) {
  const taken = new Set(now.sheet?.sources?.map((one) => one.name) ?? []);
  const pictures = [];
  const sounds = [];
  for (const file of files) {
    tell("arriving", `${file.name} is being kept beside the sheet.`);
    try {
      const { path, kind } = await keep(file);
      if (kind === "sound") sounds.push({ path });
      else pictures.push({ path, name: named(path, taken), clip: kind === "clip" });
    } catch (error) {
      tell("arriving", error.message);
      return;
    }
  }
  tell("arriving", "");
  const empty = !now.sheet?.facts;
  if (empty && !pictures.length) {
    tell("arriving", "The sound is kept. Drop a picture to begin.");
    return;
  }
  const edits = empty ? first(pictures, sounds) : more(pictures, sounds);
  const faults = await edit(edits, empty ? "a first effect" : "what was dropped");
  if (faults.length) tell("arriving", faults.map((one) => one.message).join(" "));
}

export function chooser(label) {
  const files = el("input", { type: "file", multiple: true, accept: KINDS, hidden: true, onchange: () => take([...files.files]) });
  return el("span", {}, files, el("button", { type: "button", class: "strong", onclick: () => files.click() }, label));
}

when("sheet", () => {
  const broken = !now.sheet.facts && now.sheet.faults.length > 0;
  const empty = !now.sheet.facts && !broken;
  document.querySelector(".stage").hidden = empty || broken;
  for (const id of ["whole", "compare", "client"]) $(id).hidden = empty || broken;
  if (broken) $("title").textContent = now.sheet.name;
  if (!empty || $("empty")) {
    if (!empty) $("empty")?.remove();
    return;
  }
  $("title").textContent = "An empty sheet";
  $("sheet").replaceChildren(el("div", { class: "empty", id: "empty" },
    el("h2", {}, "Drop two pictures here"),
    el("p", {}, "Stills, clips or sound. Two pictures make a first effect at once; the files are kept in the folder “media” beside the sheet."),
    chooser("Choose files")));
});

let over = 0;
addEventListener("dragenter", (event) => {
  if (![...event.dataTransfer.types].includes("Files")) return;
  over += 1;
  document.body.classList.add("dropping");
});
addEventListener("dragleave", () => {
  over = Math.max(over - 1, 0);
  if (!over) document.body.classList.remove("dropping");
});
addEventListener("dragover", (event) => event.preventDefault());
addEventListener("drop", (event) => {
  event.preventDefault();
  over = 0;
  document.body.classList.remove("dropping");
  if (event.dataTransfer.files.length) take([...event.dataTransfer.files]);
});
