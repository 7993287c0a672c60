// Playing: the guide track is the clock, pictures are numbered, late ones are counted and left out.
// What goes with every picture is told as a moment, all else of a frame a few times a second.
// What is drawn is on the screen at its next refresh, so the picture is drawn whose time is nearest
// to that. A picture is uneven that comes more than one refresh after its time.

import { $ } from "./dom.js";
import { answered, on, send } from "./link.js";
import { go, now, tell, when } from "./state.js";
import { rate } from "./time.js";

const AHEAD_SECONDS = 0.5;
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
    "This has not passed the check for flashing and stripes. Flashing pictures can trigger seizures in people with photosensitive epilepsy. Press Play again to play it all the same.");
  return true;
}

async function sound() {
  if (!now.sheet.sound) return null;
  if (trackOf === now.sheet.sound) return track;
  const answer = await answered(`/sound?of=${now.sheet.revision}`);
  track = answer.ok ? await audio.decodeAudioData(await answer.arrayBuffer()) : null;
  trackOf = now.sheet.sound;
  return track;
}

async function start(until = Infinity) {
  if (warned()) return;
  tell("caution", "");
  audio ??= new AudioContext();
  await audio.resume();
  const heard = await sound();
  const { facts } = now.sheet;
  const from = now.frame >= facts.length - 1 ? 0 : now.frame;
  run = { from, until, began: 0, kept: new Map(), shown: from - 1, late: 0, uneven: 0, count: 0, before: 0, steps: [], refresh: 1 / 60, at: 0, left: [], apart: [], node: null, asked: new Map(), trip: 0.1, between: 0, came: 0, stride: 1, told: 0, tag: Math.random() };
  now.playing = true;
  tell("playing");
  $("play").textContent = "Stop";
  $("play").setAttribute("aria-pressed", "true");
  want();
  const ready = () => run && (run.kept.size >= Math.min(ahead(facts) / 2, facts.length - from));
  const latest = performance.now() + 3000;
  const wait = (at) => {
    if (!run) return;
    if (at) refreshed(at);
    if (!ready() && performance.now() < latest) {
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
  const apart = run.apart.map(Math.abs).sort((a, b) => a - b);
  canvas.dataset.left = run.left.join(" ");
  canvas.dataset.apart = [apart[Math.floor(0.95 * apart.length)], apart.at(-1)].join(" ");
  const at = Math.max(run.shown, run.from);
  for (const bitmap of run.kept.values()) bitmap?.close();
  run = null;
  now.playing = false;
  $("play").textContent = "Play";
  $("play").setAttribute("aria-pressed", "false");
  now.frame = -1;
  go(at);
  tell("playing");
}

// Pictures that are held ready: what a machine that does other things as well may be late by.
const ahead = (facts) => Math.min(Math.max(Math.ceil(AHEAD_SECONDS * rate(facts)), 12), 40);

// Ask for the pictures that are due next, some at a time; what is asked for already is not lost.
// Where drawing cannot keep up, every second or third one is asked for: fewer, but in time.
function want() {
  const { facts } = now.sheet;
  const soonest = due() + (run.began && !run.kept.size ? Math.ceil(run.trip * rate(facts)) : 0);
  const first = Math.max(soonest, run.shown + 1);
  const last = Math.min(first + ahead(facts), facts.length);
  for (const one of run.asked.keys()) if (one < due() - 2) run.asked.delete(one);
  const missing = [];
  for (let n = first; n < last; n += 1) {
    if (n % run.stride === 0 && !run.kept.has(n) && !run.asked.has(n)) missing.push(n);
  }
  if (!missing.length || (missing.length < 4 && run.asked.size && last < facts.length)) return;
  const began = performance.now();
  for (const one of missing) run.asked.set(one, began);
  send({ do: "ahead", frames: [...run.asked.keys()].sort((one, other) => one - other), rows: now.rows, tag: run.tag });
}

// How long a picture takes to come, and how far apart they come while more are waited for.
function learn(frame) {
  const at = performance.now();
  const asked = run.asked.get(frame);
  run.asked.delete(frame);
  if (asked) run.trip += 0.2 * (Math.min((at - asked) / 1000, 1) - run.trip);
  if (run.came && run.asked.size) run.between += 0.1 * (Math.min((at - run.came) / 1000, 1) - run.between);
  run.came = run.asked.size ? at : 0;
  const each = run.between * rate(now.sheet.facts);
  run.stride = each < 1.2 ? 1 : Math.min(Math.ceil(each), 8);
}

// The screen's refresh, from those of a second; one alone may come late.
function refreshed(at) {
  if (run.before && at > run.before) run.steps.push((at - run.before) / 1000);
  if (run.steps.length > 60) run.steps.shift();
  if (run.steps.length > 8) run.refresh = [...run.steps].sort((a, b) => a - b)[run.steps.length >> 1];
  run.before = run.at = at;
}

// The sound that is heard when what is drawn now comes on the screen, in seconds since it began;
// its clock ticks in blocks, in between the page's goes on.
function seenAt() {
  if (!run.began) return 0;
  const { contextTime, performanceTime } = audio.getOutputTimestamp();
  const heard = performanceTime ? contextTime + (run.at - performanceTime) / 1000 : audio.currentTime;
  return heard + run.refresh - run.began;
}

// The picture whose time is nearest.
function due() {
  const nearest = seenAt() + run.refresh / 2;
  const frame = run.from + Math.floor(Math.max(nearest, 0) * rate(now.sheet.facts) + 1e-6);
  return Math.min(frame, now.sheet.facts.length - 1);
}

const canvas = $("canvas");
const pen = canvas.getContext("2d", { alpha: false });

function show(frame) {
  const bitmap = run.kept.get(frame);
  for (let n = run.shown + 1; n < frame; n += 1) if (run.left.length < 50) run.left.push(n);
  run.late += frame - run.shown - 1;
  const behind = seenAt() - (frame - run.from) / rate(now.sheet.facts);
  run.apart.push(Math.round(1000 * behind));
  if (run.apart.length > 9000) run.apart.shift();
  if (behind > run.refresh + 0.001) run.uneven += 1;
  if (canvas.width !== bitmap.width || canvas.height !== bitmap.height) {
    canvas.width = bitmap.width;
    canvas.height = bitmap.height;
  }
  pen.drawImage(bitmap, 0, 0);
  run.shown = frame;
  run.count += 1;
  now.frame = frame;
  tell("moment");
  if (performance.now() - run.told > 200) {
    run.told = performance.now();
    tell("frame");
  }
  for (const [number, one] of run.kept) {
    if (number > frame) continue;
    one?.close();
    run.kept.delete(number);
  }
}

// The newest picture that is there and due. After a refresh that was missed the pictures follow one
// another a refresh apart until they are in time again: none is lost to a moment's delay.
const MOST_BEHIND = 3;

export function chosen(kept, shown, frame, refreshesBehind) {
  const next = shown + 1;
  if (next <= frame && kept.get(next) && refreshesBehind < MOST_BEHIND) return next;
  let best = -1;
  for (const [one, bitmap] of kept) if (bitmap && one <= frame && one > best) best = one;
  return best;
}

function beat(at) {
  if (!run) return;
  refreshed(at);
  const { facts } = now.sheet;
  if (seenAt() - run.refresh >= (Math.min(run.until + 1, facts.length) - run.from) / rate(facts)) {
    const { after } = run;
    stop();
    if (after !== undefined) go(after);
    return;
  }
  const frame = due();
  const behind = seenAt() - (run.shown + 1 - run.from) / rate(facts);
  const best = chosen(run.kept, run.shown, frame, behind / run.refresh);
  if (best > run.shown) show(best);
  const missed = Math.max(frame - run.shown, 1) - 1;
  const late = run.late + missed;
  if (best === run.shown || late !== run.said) {
    run.said = late;
    $("late").textContent = late ? `${late} late` : "";
    Object.assign(canvas.dataset, { played: run.count, late, uneven: run.uneven });
  }
  want();
  requestAnimationFrame(beat);
}

on("picture", async (head, data) => {
  if (head.slot !== "play" || !run || head.tag !== run.tag || head.error) return;
  learn(head.frame);
  if (head.frame <= run.shown) return;
  run.kept.set(head.frame, null); // on its way through the decoder
  const bitmap = await createImageBitmap(new Blob([data]));
  if (!run || head.tag !== run.tag || head.frame <= run.shown) bitmap.close();
  else run.kept.set(head.frame, bitmap);
});

export const toggle = () => (run ? stop() : start());
$("play").onclick = toggle;
when("play", toggle);

// A transition alone: from a moment before it to a moment after, and then to where it is seen.
when("playPart", async ({ start: first, length }) => {
  if (run) stop();
  const { facts } = now.sheet;
  const moment = Math.ceil(facts.count / 2);
  go(Math.max(first - moment, 0));
  await start(Math.min(first + length + moment, facts.length - 1));
  if (run) run.after = first + Math.floor(length / 2);
});
on("closed", stop);
