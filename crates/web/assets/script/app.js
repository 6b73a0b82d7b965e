// What every page does with script. It works without: forms and links are plain ones.

import { away } from "./away.js";
import { aheadOfLitter, clockOff, showClock, startClock } from "./clock.js";
import { atTheDoor } from "./door.js";
import { announce, back, clocks, oneFinger, wipe } from "./glass.js";
import { live } from "./live.js";
import { onLine, sendAgain, startOutbox } from "./outbox.js";
import { drafts, pads } from "./pad.js";
import { litScreen, openFrame } from "./padlock.js";
import { links, saving } from "./save.js";

const CLOCK_IS_WRONG_MS = 120e3;

/** The line that says where entries are: on the server, waiting here, or not reached. */
function statusLine(main) {
  const box = document.querySelector("[data-kept]");
  const text = box.querySelector("p");
  const isEntry = Boolean(main.querySelector("[data-entry]"));
  let wasGood = true;
  onLine((line) => {
    const at = (wall) => showClock(wall - aheadOfLitter(), main.dataset.zone);
    const gone = box.dataset.gone.replace("{}", at(line.reachedAt));
    const count = line.waiting.filter((e) => !(e.asking > Date.now())).length;
    const savedAt = line.savedAt ? at(line.savedAt) : box.dataset.at && showClock(Number(box.dataset.at), main.dataset.zone);
    let said = savedAt ? box.dataset.saved.replace("{}", savedAt) : "";
    if (count > 0) said = box.dataset.waiting.replace("{}", count) + (line.isReached ? "" : `. ${gone}`);
    else if (line.waiting.length > 0) said = box.dataset.sending;
    else if (!line.isReached) said = gone;
    const isGood = line.isReached && line.waiting.length === 0;
    if (text.textContent !== said) text.textContent = said;
    // Read out when it turns bad and when it is good again, not each time.
    if (isGood !== wasGood && !(line.waiting.length > 0 && count === 0)) announce(said);
    wasGood = isGood || (line.waiting.length > 0 && count === 0 && wasGood);
    refusedCard(box, line);
    const minutes = Math.round(clockOff() / 60e3);
    let clock = box.querySelector("[data-wrong-clock]");
    if (isEntry || Math.abs(clockOff()) <= CLOCK_IS_WRONG_MS) return clock?.remove();
    clock ??= box.appendChild(Object.assign(document.createElement("p"), { className: "note" }));
    clock.dataset.wrongClock = "";
    clock.textContent = (minutes > 0 ? box.dataset.fast : box.dataset.slow).replace("{}", Math.abs(minutes));
  });
}

/** What the server did not take stays on the phone and stays in view. */
function refusedCard(box, line) {
  box.querySelector("[data-refused]")?.remove();
  const words = away.plan?.words;
  if (line.refused.length === 0) return;
  const card = document.createElement("section");
  card.className = "wrong";
  card.dataset.refused = "";
  const add = (tag, text) => card.appendChild(Object.assign(document.createElement(tag), { textContent: text }));
  add("p", words?.["outbox-set-aside"] ?? box.dataset.needs);
  for (const entry of line.refused) {
    const pup = away.plan?.pups.find((p) => p.id === entry.fact.pup)?.name ?? "";
    const { body } = entry.fact;
    const value = body.weight ? `${body.weight} ${body.unit}` : body.taken_ml ? `${body.taken_ml} mL` : `${body.kind ?? ""} ${body.value ?? ""}`;
    add("p", `${pup} ${value} · ${showClock(entry.wall - entry.ahead, entry.fact.zone)} · ${words?.["outbox-why"] ?? ""} ${entry.refused}`);
  }
  const again = add("button", words?.["outbox-again"] ?? "↻");
  again.type = "button";
  again.addEventListener("click", sendAgain);
  box.append(card);
}

oneFinger();
wipe();
saving();
pads();
drafts();
clocks();
back();
const litterPage = document.querySelector("main[data-litter]");
if (litterPage) {
  const frame = litterPage.querySelector("[data-frame]");
  if (!frame) startClock(Number(litterPage.dataset.clock), Number(litterPage.dataset.now));
  statusLine(litterPage);
  links();
  startOutbox(litterPage.dataset.token);
  if (frame) await openFrame(litterPage, frame);
  live();
}
atTheDoor();
litScreen();
