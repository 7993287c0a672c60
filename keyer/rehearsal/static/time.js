// Timecode as on paper: SMPTE ST 12-1, drop-frame where the sheet counts so.

export function timecode(frame, facts) {
  let number = frame + facts.start;
  const { count, skipped } = facts;
  if (skipped) {
    const minute = 60 * count - skipped;
    const ten = 10 * minute + skipped;
    const tens = Math.floor(number / ten);
    const rest = number - tens * ten;
    const minutes = rest < 60 * count ? 0 : Math.floor((rest - 60 * count) / minute) + 1;
    number += skipped * (9 * tens + minutes);
  }
  const two = (value) => String(value).padStart(2, "0");
  const seconds = Math.floor(number / count);
  const mark = skipped ? ";" : ":";
  const clock = [Math.floor(seconds / 3600) % 24, Math.floor(seconds / 60) % 60, seconds % 60];
  return clock.map(two).join(":") + mark + two(number % count);
}

// Frames that a text means: frames, `2.5s`, timecode as it is shown, or `+5` and `-5` from where
// it stands; null where it is something else.
export function framesOf(text, facts, stands) {
  if (/^[+-]\d+$/.test(text)) return stands + Number(text);
  if (/^\d+$/.test(text)) return Number(text);
  const seconds = /^(\d+(?:\.\d+)?) ?s$/.exec(text);
  if (seconds) return Math.round((Number(seconds[1]) * facts.rate[0]) / facts.rate[1]);
  const parts = /^(?:(\d+):)?(\d+):(\d+)[:;](\d+)$/.exec(text);
  if (!parts) return null;
  const [hours, minutes, whole, frames] = parts.slice(1).map((one) => Number(one ?? 0));
  const passed = 60 * hours + minutes;
  const skipped = facts.skipped ? facts.skipped * (passed - Math.floor(passed / 10)) : 0;
  return (60 * passed + whole) * facts.count + frames - skipped - facts.start;
}

export const rate = (facts) => facts.rate[0] / facts.rate[1];

const STEPS = [1, 2, 5, 10, 15, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600];

// Whole seconds of the count at which time is written: at most `most`.
export function ticks(facts, most = 8) {
  const seconds = facts.length / facts.count;
  const step = STEPS.find((one) => seconds / one <= most) ?? 7200;
  const found = [];
  for (let n = 0; n * facts.count < facts.length; n += step) found.push(n * facts.count);
  return found;
}

const EASE = {
  linear: (t) => t,
  "ease-in": (t) => t * t,
  "ease-out": (t) => 1 - (1 - t) * (1 - t),
  ease: (t) => t * t * (3 - 2 * t),
};
export const eased = (curve, share) => (EASE[curve] ?? EASE.linear)(share);
