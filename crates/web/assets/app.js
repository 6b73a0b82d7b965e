// Adds the number pad, keeps what was typed, and lets clocks run. Every page works without it.

const GHOST_MS = 70; // a wet finger's second touch of the same key

/** Keys of a pad by its kind: whole numbers, one decimal mark, or half degrees in one tap. */
const EXTRA = { whole: "C", decimal: ".", halves: ".5" };

function pads() {
  for (const pad of document.querySelectorAll("[data-pad]")) {
    const form = pad.closest("form");
    const field = form.querySelector("[data-number]");
    if (!field) continue;
    const kind = pad.dataset.pad;
    // The screen keyboard stays away; a real keyboard still types.
    field.inputMode = "none";
    const last = EXTRA[kind] ?? "C";
    const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", last, "0", "⌫"];
    let touched = { key: "", at: -Infinity };
    for (const key of keys) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = key;
      button.dataset.key = key;
      button.setAttribute("aria-label", spoken(pad, key));
      // A click comes when the finger leaves the key inside it; sliding out cancels.
      button.addEventListener("click", (event) => {
        if (touched.key === key && event.timeStamp - touched.at < GHOST_MS) return;
        touched = { key, at: event.timeStamp };
        field.value = typed(field.value, key);
        field.dispatchEvent(new Event("input", { bubbles: true }));
      });
      pad.append(button);
    }
    pad.classList.add("ready");
    label(form, field);
    field.addEventListener("input", () => label(form, field));
    if (!pad.closest("details")) field.focus({ preventScroll: true });
  }
}

/** The name of a key for a screen reader: its page carries the words. */
function spoken(pad, key) {
  return { C: pad.dataset.clear, "⌫": pad.dataset.remove, ".": pad.dataset.point, ".5": pad.dataset.half }[key] ?? key;
}

/** The text after a key. */
export function typed(text, key) {
  if (key === "⌫") return text.slice(0, -1);
  if (key === "C") return "";
  if (key.startsWith(".") && /[.,]/.test(text)) return text;
  if (key.startsWith(".") && text === "") return key === "." ? "0." : text;
  return text.length < 8 ? text + key : text;
}

/** The button says the number, its unit and the pup. */
function label(form, field) {
  const button = form.querySelector("[data-save]");
  if (!button) return;
  button.dataset.plain ??= button.textContent;
  const pounds = form.elements.pounds?.value;
  const value = pounds ? `${pounds} lb ${field.value}` : field.value;
  button.textContent = field.value === "" ? button.dataset.plain : button.dataset.save.replace("{}", value);
}

/** A number that was typed is still there when the phone was locked or the page reloaded. */
function drafts() {
  const field = document.querySelector("[data-entry] > form [data-number]");
  if (!field || field.closest("details")) return;
  const pup = field.form.elements.pup?.value ?? "";
  const key = `draft ${location.pathname} ${pup} ${field.name}`;
  try {
    if (field.value === "" && sessionStorage.getItem(key)) {
      field.value = sessionStorage.getItem(key);
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
    field.addEventListener("input", () => sessionStorage.setItem(key, field.value));
    field.form.addEventListener("submit", () => sessionStorage.removeItem(key));
  } catch {
    // Without storage a draft lives as long as its page.
  }
}

/** One tap saves once. */
function once() {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  });
  // Back from another page: the form may be sent again.
  addEventListener("pageshow", () => {
    for (const form of document.forms) delete form.dataset.sent;
  });
}

let showsClocks;
function clocks() {
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

function back() {
  for (const link of document.querySelectorAll("[data-back]")) {
    link.addEventListener("click", (event) => {
      if (history.length > 1) {
        event.preventDefault();
        history.back();
      }
    });
  }
}

/** A second finger on the glass is a drop of water or a palm: what it taps does not count. */
function oneFinger() {
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
function wipe() {
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

/** The scale's settled weight stands in the field, unless a person has typed. */
function scale() {
  const box = document.querySelector("[data-scale]");
  const form = box?.parentElement.querySelector("form");
  const field = form?.querySelector("[data-number]");
  if (!field) return () => {};
  const { offer, moved, pounds } = form.elements;
  const text = box.querySelector(".scale-text");
  const moving = box.querySelector(".scale-moving");
  const median = box.querySelector("[data-median]");
  // What the scale put there; anything else was typed by a person and stays.
  let filled = offer.value === "" ? "" : field.value;
  const fill = (given, isMoving) => {
    field.value = filled = given.weight;
    if (pounds) pounds.value = given.pounds;
    moved.value = isMoving ? "yes" : "";
    label(form, field);
  };
  return (said) => {
    box.hidden = said.state === "none";
    box.dataset.scale = said.state;
    // Only what changed is read out.
    if (text.textContent !== (said.text ?? "")) text.textContent = said.text ?? "";
    moving.textContent = said.moving ?? "";
    const given = said.offer;
    median.hidden = !given?.is_moving;
    if (!given) return;
    if (given.is_moving) {
      median.textContent = given.use;
      median.onclick = () => { offer.value = given.number; fill(given, true); };
    } else if (offer.value !== String(given.number)) {
      // Seen on this page: whatever is saved now, it does not come up for the next pup.
      offer.value = given.number;
      if (field.value === "" || field.value === filled) fill(given, false);
    }
  };
}

const RETRY_MS = 20000; // the server has no place for this page now

/** Hears what another phone writes, and what the scale says, while the page is seen. */
function live() {
  const main = document.querySelector("main[data-live]");
  if (!main || !window.EventSource) return;
  const hearScale = scale();
  const wantsScale = document.querySelector("[data-scale]") ? "&scale=yes" : "";
  let source;
  let again;
  const close = () => {
    clearTimeout(again);
    source?.close();
    source = undefined;
  };
  const open = () => {
    close();
    source = new EventSource(`${main.dataset.live}?since=${main.dataset.place}${wantsScale}`);
    source.addEventListener("changed", (event) => {
      main.dataset.place = event.data;
      renew(main);
    });
    source.addEventListener("scale", (event) => hearScale(JSON.parse(event.data)));
    source.addEventListener("error", () => {
      if (source?.readyState === EventSource.CLOSED) again = setTimeout(open, RETRY_MS);
    });
  };
  document.addEventListener("visibilitychange", () => (document.hidden ? close() : open()));
  addEventListener("pagehide", close);
  addEventListener("pageshow", (event) => event.persisted && open());
  if (!document.hidden) open();
}

/** Something was written into this litter: shows it, unless that would disturb a person who writes. */
async function renew(main) {
  const isRound = main.querySelector("[data-entry]");
  if (!isRound && (!main.querySelector("[data-renews]") || isWriting(main))) {
    document.querySelector("[data-changed]").hidden = false;
    return;
  }
  let page;
  try {
    // A round without a pup in its address would give the next one.
    const answer = await fetch(isRound?.dataset.entry || location.href);
    if (!answer.ok) return;
    page = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("main");
  } catch {
    return; // the next change, or the next page, brings it
  }
  if (!page) return;
  if (isRound) {
    // Only the ticks of the order and what was done already; the pup in hand stays.
    for (const part of [".order", ".step", "[data-already]"]) {
      const [old, fresh] = [main.querySelector(part), page.querySelector(part)];
      if (old && fresh) old.replaceWith(fresh);
    }
    return;
  }
  if (isWriting(main)) return renew(main); // typed while the page was fetched
  const [held, from] = [document.activeElement, window.scrollY];
  const isHeld = main.contains(held);
  const opened = [...main.querySelectorAll("details[open] > summary")].map((s) => s.textContent);
  const wiper = main.querySelector("[data-wipe-start]");
  main.replaceChildren(...page.childNodes);
  if (wiper) main.append(wiper);
  for (const summary of main.querySelectorAll("details > summary")) {
    if (opened.includes(summary.textContent)) summary.parentElement.open = true;
  }
  clocks();
  back();
  if (isHeld) same(main, held)?.focus({ preventScroll: true });
  window.scrollTo({ top: from, behavior: "instant" });
  announce(document.querySelector("[data-changed]").dataset.done);
}

/** A person is in a form, or has typed something that is not saved. */
function isWriting(main) {
  if (main.contains(document.activeElement?.closest("form"))) return true;
  return [...main.querySelectorAll("input, select, textarea")].some((e) => {
    if (e.type === "checkbox" || e.type === "radio") return e.checked !== e.defaultChecked;
    if (e.tagName === "SELECT") return [...e.options].some((o) => o.selected !== o.defaultSelected) && e.selectedIndex > 0;
    return e.type !== "hidden" && e.value !== e.defaultValue;
  });
}

/** The element of a new page that is what this one was. */
function same(main, old) {
  const all = [...main.querySelectorAll(old.tagName)];
  return all.find((e) => e.getAttribute("href") === old.getAttribute("href") && e.textContent === old.textContent);
}

/** Read out, and not shown. */
function announce(text) {
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

oneFinger();
wipe();
pads();
drafts();
once();
clocks();
back();
live();
