// Saving without leaving the page to chance: what a form says is written down on this phone first,
// looked at by the server if it answers soon, and kept here if it does not.

import { away, awayFor, awaySubmit, takeEntries } from "./away.js";
import { entriesOf } from "./facts.js";
import { asEvent, asJson, ask, forget, keep, line, readOutbox, settled, tellLine } from "./outbox.js";
import { endDraft } from "./pad.js";

const LOOK_WITHIN_MS = 4000; // then the pup in hand is more important than the answer
const PROBE_WITHIN_MS = 3000;
const SURELY_THERE_MS = 5000;

let isLeaving = false;

export function go(address) {
  isLeaving = true;
  location.assign(address);
}

/** The browser sends the form itself, as on a page without script. */
function passOn(form) {
  endDraft(form);
  isLeaving = true;
  HTMLFormElement.prototype.submit.call(form);
}

function needsProgram(form) {
  const box = document.querySelector("[data-kept]");
  let text = document.querySelector("[data-needs-text]");
  text ??= Object.assign(document.createElement("p"), { className: "wrong" });
  text.dataset.needsText = "";
  text.setAttribute("role", "alert");
  text.textContent = box?.dataset.needs ?? "";
  if (form?.isConnected && form.closest("main")) form.before(text);
  else (document.querySelector("main") ?? document.body).prepend(text);
  text.scrollIntoView({ block: "nearest" });
}

/** Whether the server answers, without asking where it just did. */
async function isThere() {
  if (navigator.onLine === false) return false;
  if (line.isReached && Date.now() - line.reachedAt < SURELY_THERE_MS) return true;
  const answer = await ask("/api/v1/time", {}, PROBE_WITHIN_MS);
  return answer !== null && answer.status < 500;
}

function pageAfter(form, said) {
  const isFeedMissing = form.dataset.outbox === "feed" && form.dataset.stay && !said.kinds.some((k) => k === "feed" || k === "note");
  const to = new URL(isFeedMissing ? form.dataset.stay : form.dataset.then, location.href);
  const taken = new FormData(form).get("taken");
  if (taken) to.searchParams.set("taken", taken);
  if (said.saved) to.searchParams.set("saved", said.saved);
  return to.href;
}

async function save(form) {
  const made = entriesOf(form);
  if (made === null) return (await isThere()) ? passOn(form) : needsProgram(form);
  const { entries, shown, offer } = made;
  const since = Number(new URL(form.dataset.then, location.href).searchParams.get("since"));
  const here = { isPlanned: Boolean(shown), since };
  if (!line.isReached || navigator.onLine === false) {
    if (!away.plan) {
      await keep(entries);
      return needsProgram(form);
    }
    endDraft(form);
    return takeEntries(entries, here);
  }
  // On the shelf first: the phone may go dark before the answer comes.
  await keep(entries.map((e) => ({ ...e, asking: Date.now() + LOOK_WITHIN_MS + 1000 })));
  const answer = await ask("/api/v1/tap", asJson("POST", { events: entries.map(asEvent), shown, offer }), LOOK_WITHIN_MS);
  const ids = entries.map((e) => e.id);
  if (answer === null || answer.status >= 500) {
    if (!away.plan) {
      await keep(entries);
      return needsProgram(form);
    }
    endDraft(form);
    return takeEntries(entries, { ...here, isKept: true });
  }
  if (answer.said.result === "saved") {
    endDraft(form);
    await settled(ids);
    return go(pageAfter(form, answer.said));
  }
  if (answer.said.result === "asked" || answer.said.result === "refused") {
    // The page with the question comes from the server.
    await forget(ids);
    return passOn(form);
  }
  await keep(entries.map((e) => ({ ...e, refused: answer.said.why ?? `HTTP ${answer.status}` })));
  tellLine();
}

export function saving() {
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    event.preventDefault();
    if (form.dataset.sent) return; // one tap saves once
    form.dataset.sent = "yes";
    try {
      if (form.dataset.away) await awaySubmit(form);
      else if (form.dataset.outbox && document.querySelector("main[data-litter]")) await save(form);
      else if (await isThere()) return passOn(form);
      else needsProgram(form);
    } catch {
      // A phone that keeps nothing of its own still saves as a page without script does.
      if (!form.dataset.away) passOn(form);
    } finally {
      if (!isLeaving) delete form.dataset.sent;
    }
  });
  // Back from another page: the form may be sent again.
  addEventListener("pageshow", () => {
    isLeaving = false;
    for (const form of document.forms) delete form.dataset.sent;
    if (line.token) readOutbox();
  });
}

/** A page is left only for one that can be had: over plain http it could not be opened again. */
export function links() {
  document.addEventListener("click", async (event) => {
    const link = event.target.closest?.("a[href]");
    if (!link || event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    const to = new URL(link.href, location.href);
    if (to.origin !== location.origin || link.target || link.hasAttribute("download")) return;
    if (to.hash && to.pathname === location.pathname && to.search === location.search) return;
    if (line.isReached && Date.now() - line.reachedAt < SURELY_THERE_MS && navigator.onLine !== false) {
      isLeaving = true;
      return;
    }
    event.preventDefault();
    if (await isThere()) go(to.href);
    else if (!awayFor(to.href)) needsProgram(null);
  });
  addEventListener("beforeunload", (event) => {
    if (!isLeaving && line.waiting.length + line.refused.length > 0) event.preventDefault();
  });
}
