// Playing: the guide track is the clock, pictures are numbered, late ones are counted and left out.

import { $ } from "./dom.js";
import { on, send } from "./link.js";
import { go, now, tell, when } from "./state.js";
import { rate } from "./time.js";

const AHEAD = 14;
let audio = null;
let track = null;
let trackOf = "";
let run = null;
let pressed = "";

// What has not passed the flash check is not played at the first press.
function warned() {
  if (now.sheet.flashes === "holds" || pressed === now.sheet.digest) return false;
  pressed = now.sheet.digest;
  tell("caution",
    "This has not passed the check for flashing and stripes. Flashing pictures can trigger seizures in people with photosensitive epilepsy. Run the check below, or press Play again to play it.");
  return true;
}

async function sound() {
  if (!now.sheet.sound) return null;
  if (trackOf === now.sheet.sound) return track;
  const answer = await fetch(`/sound?of=${now.sheet.revision}`);
  track = answer.ok ? await audio.decodeAudioData(await answer.arrayBuffer()) : null;
  trackOf = now.sheet.sound;
  return track;
}

async function start() {
  if (warned()) return;
  tell("caution", "");
  audio ??= new AudioContext();
  await audio.resume();
  const heard = await sound();
  const { facts } = now.sheet;
  const from = now.frame >= facts.length - 1 ? 0 : now.frame;
  run = { from, began: 0, kept: new Map(), shown: from - 1, late: 0, count: 0, node: null, asked: new Set(), tag: Math.random() };
  now.playing = true;
  tell("playing");
  $("play").textContent = "Stop";
  $("play").setAttribute("aria-pressed", "true");
  want();
  const ready = () => run && (run.kept.size >= Math.min(8, facts.length - from));
  const until = performance.now() + 3000;
  const wait = () => {
    if (!run) return;
    if (!ready() && performance.now() < until) {
      requestAnimationFrame(wait);
      return;
    }
    run.began = audio.currentTime + 0.05;
    if (heard) {
      run.node = audio.createBufferSource();
      run.node.buffer = heard;
      run.node.connect(audio.destination);
      run.node.start(run.began, from / rate(facts));
    }
    requestAnimationFrame(beat);
  };
  wait();
}

export function stop() {
  if (!run) return;
  run.node?.stop();
  const at = Math.max(run.shown, run.from);
  for (const bitmap of run.kept.values()) bitmap.close();
  run = null;
  now.playing = false;
  $("play").textContent = "Play";
  $("play").setAttribute("aria-pressed", "false");
  now.frame = -1;
  go(at);
  tell("playing");
}

// Ask for the pictures that are due next, some at a time; what is asked for already is not lost.
function want() {
  const { length } = now.sheet.facts;
  const first = Math.max(due(), run.shown + 1);
  const last = Math.min(first + AHEAD, length);
  for (const one of run.asked) if (one < first) run.asked.delete(one);
  const missing = [];
  for (let n = first; n < last; n += 1) if (!run.kept.has(n) && !run.asked.has(n)) missing.push(n);
  if (!missing.length || (missing.length < 4 && run.asked.size && last < length)) return;
  for (const one of missing) run.asked.add(one);
  send({ do: "ahead", frames: [...run.asked], rows: now.rows, tag: run.tag });
}

function due() {
  if (!run.began) return run.from;
  const passed = audio.currentTime - (audio.outputLatency || 0) - run.began;
  return run.from + Math.max(Math.floor(passed * rate(now.sheet.facts) + 1e-6), 0);
}

const canvas = $("canvas");
const pen = canvas.getContext("2d", { alpha: false });

function beat() {
  if (!run) return;
  const { length } = now.sheet.facts;
  const frame = due();
  if (frame >= length) {
    stop();
    return;
  }
  if (frame > run.shown) {
    const bitmap = run.kept.get(frame);
    if (bitmap) {
      run.late += frame - run.shown - 1;
      if (canvas.width !== bitmap.width || canvas.height !== bitmap.height) {
        canvas.width = bitmap.width;
        canvas.height = bitmap.height;
      }
      pen.drawImage(bitmap, 0, 0);
      run.shown = frame;
      run.count += 1;
      now.frame = frame;
      tell("frame");
      for (const [number, one] of run.kept) {
        if (number > frame) continue;
        one.close();
        run.kept.delete(number);
      }
    }
    $("late").textContent = run.late ? `${run.late} late` : "";
    canvas.dataset.played = run.count;
    canvas.dataset.late = run.late;
  }
  want();
  requestAnimationFrame(beat);
}

on("picture", async (head, data) => {
  if (head.slot !== "play" || !run || head.tag !== run.tag || head.error) return;
  run.asked.delete(head.frame);
  const bitmap = await createImageBitmap(new Blob([data]));
  if (!run || head.tag !== run.tag || head.frame <= run.shown) bitmap.close();
  else run.kept.set(head.frame, bitmap);
});

export const toggle = () => (run ? stop() : start());
$("play").onclick = toggle;
when("play", toggle);
on("closed", stop);
