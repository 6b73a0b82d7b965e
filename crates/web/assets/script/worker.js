// Answers for the program while it is away, over https alone: with the empty frame of a litter's pages, which
// shows the plan that the phone kept. No page with numbers is kept here.

const FRAMES = "whelpward-frames"; // the name stands in padlock.js too
const ANSWER_WITHIN_MS = 6000;

addEventListener("install", () => self.skipWaiting());
addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

/** The frame of the litter that is asked for, else that of the litter seen last. */
async function frameFor(path) {
  const frames = await caches.open(FRAMES);
  const all = (await frames.keys()).filter((kept) => new URL(kept.url).pathname.endsWith("/away"));
  const own = all.find((kept) => path.startsWith(new URL(kept.url).pathname.replace(/away$/, "")));
  const frame = own ?? all.at(-1);
  return frame && frames.match(frame);
}

async function page(request) {
  const answer = fetch(request);
  const late = new Promise((resolve) => { setTimeout(resolve, ANSWER_WITHIN_MS); });
  const first = await Promise.race([answer, late]).catch(() => undefined);
  return first ?? (await frameFor(new URL(request.url).pathname)) ?? answer;
}

async function asset(request) {
  return (await (await caches.open(FRAMES)).match(request)) ?? fetch(request);
}

addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (pathname.startsWith("/assets/")) event.respondWith(asset(request));
});
