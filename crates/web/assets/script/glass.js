// The glass of the phone: wet fingers, wiping, clocks that run, the way back.

/** A second finger on the glass is a drop of water or a palm: what it taps does not count. */
export function oneFinger() {
  const down = new Set();
  const ignored = new Set();
  const lift = (event) => down.delete(event.pointerId);
  addEventListener("pointerdown", (event) => {
    ignored.delete(event.pointerId);
    if (down.size > 0 && !down.has(event.pointerId)) ignored.add(event.pointerId);
    down.add(event.pointerId);
  }, true);
  addEventListener("pointerup", lift, true);
  addEventListener("pointercancel", lift, true);
  addEventListener("click", (event) => {
    if (!ignored.has(event.pointerId)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
  }, true);
}

const WIPE_S = 5;

/** Locks the page against touches while the glass is wiped, and counts down. */
export function wipe() {
  const parts = document.querySelector("template[data-wipe]")?.content;
  // Below everything else: it pushes nothing aside.
  const place = document.querySelector("main");
  if (!parts || !place) return;
  const button = parts.querySelector("[data-wipe-start]");
  const lock = parts.querySelector("[data-wipe-lock]");
  place.append(button);
  button.addEventListener("click", () => {
    let left = WIPE_S;
    const show = () => { lock.textContent = lock.dataset.text.replace("{}", left); };
    show();
    document.body.append(lock);
    for (const part of document.body.children) if (part !== lock) part.inert = true;
    const ticking = setInterval(() => {
      left -= 1;
      if (left > 0) return show();
      clearInterval(ticking);
      lock.remove();
      for (const part of document.body.children) part.inert = false;
      button.focus({ preventScroll: true });
    }, 1000);
  });
}

let showsClocks;
export function clocks() {
  clearInterval(showsClocks);
  const running = [...document.querySelectorAll("[data-since]")];
  if (running.length === 0) return;
  // By the server's clock, whatever this phone's says.
  const began = performance.now();
  const show = () => {
    for (const clock of running) {
      const ms = Number(clock.dataset.now) + (performance.now() - began) - Number(clock.dataset.since);
      const minutes = Math.max(0, Math.floor(ms / 60000));
      const hours = Math.floor(minutes / 60);
      const rest = minutes % 60;
      const words = [hours > 0 ? `${hours}\u00a0h` : "", rest > 0 || hours === 0 ? `${rest}\u00a0min` : ""];
      clock.textContent = words.filter(Boolean).join(" ");
    }
  };
  show();
  showsClocks = setInterval(show, 10000);
}

export function back() {
  for (const link of document.querySelectorAll("[data-back]")) {
    link.addEventListener("click", (event) => {
      if (history.length > 1) {
        event.preventDefault();
        history.back();
      }
    });
  }
}

/** Read out, and not shown. */
export function announce(text) {
  let place = document.querySelector("[data-announce]");
  if (!place) {
    place = document.createElement("p");
    place.dataset.announce = "";
    place.className = "hidden";
    place.setAttribute("role", "status");
    document.body.append(place);
  }
  place.textContent = "";
  // A region hears a change of its text, not the text with which it came.
  setTimeout(() => { place.textContent = text; }, 100);
}
