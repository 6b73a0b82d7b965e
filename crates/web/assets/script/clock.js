// The server's time on a phone whose own clock may be wrong.

const SAMPLES = 5;
const SLOW_TRIP_MS = 2000; // a longer way says too little
const samples = [];
let firstGuess = 0;
// An example runs on a time of its own beside the server's.
let shift = 0;

export function startClock(serverNow, litterNow) {
  firstGuess = Date.now() - serverNow;
  shift = litterNow - serverNow;
}

/** What a later page needs to start from without the server. */
export const keptClock = () => ({ off: clockOff(), shift });

export function startFromKept(kept) {
  firstGuess = kept.off;
  shift = kept.shift;
}

/** What one answer tells: sent and received by this phone's clock, and the server's time between. */
export function heardTime(sent, received, serverNow) {
  if (received - sent >= SLOW_TRIP_MS) return;
  samples.push((sent + received) / 2 - serverNow);
  if (samples.length > SAMPLES) samples.shift();
}

/** How far this phone's clock is ahead of the server's: the middle of the last five. */
export function clockOff() {
  if (samples.length === 0) return firstGuess;
  const sorted = [...samples].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)];
}

/** How far it is ahead of the litter's time, in whole seconds. */
export function aheadOfLitter() {
  return Math.round((clockOff() - shift) / 1000) * 1000;
}

/** The litter's time. */
export function litterNow() {
  return Date.now() - aheadOfLitter();
}

/** `03:15` in the litter's zone. */
export function showClock(at, zone) {
  return new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23" }).format(at);
}
