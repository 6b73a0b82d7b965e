// What a form says, as facts of the book (the JSON of docs/schema/fact.json).

import { aheadOfLitter } from "./clock.js";
import { newId } from "./ids.js";

const place = () => document.querySelector("main[data-litter]")?.dataset;

/** One fact that happens now, with what is needed to send it. */
export function makeEntry(kind, timeKey, pup, body, tap = newId()) {
  const here = place();
  const wall = Math.floor(Date.now() / 1000) * 1000;
  const at = new Date(wall).toISOString();
  const filled = Object.fromEntries(Object.entries({ [timeKey]: at, ...body }).filter(([, v]) => v !== undefined && v !== ""));
  const fact = { id: newId(wall), litter: here.litter, kind, body: filled, occurred_at: at, zone: here.zone, device: here.device };
  if (pup) fact.pup = pup;
  if (here.carer) fact.carer = here.carer;
  // How far the clock was off is written down with it: sent twice, it is the same fact.
  return { id: fact.id, fact, tap, ahead: aheadOfLitter(), wall, steady: performance.now(), origin: performance.timeOrigin };
}

/** When a fact happened by the litter's time. */
export const atLitterTime = (entry) => ({ ...entry.fact, occurred_at: new Date(Date.parse(entry.fact.occurred_at) - entry.ahead).toISOString() });

/** The entries of one tap; null where the form says more than a page can write down by itself. */
export function entriesOf(form) {
  const get = (name) => (form.elements[name]?.value ?? "").trim();
  const fields = Object.fromEntries([...new FormData(form)].map(([k, v]) => [k, String(v).trim()]));
  if (fields.at || fields.kept) return null;
  const pup = fields.pup || undefined;
  const tap = newId();
  if (form.dataset.outbox === "weighing") {
    const weight = fields.pounds ? `${fields.pounds} ${fields.weight || "0"}` : fields.weight;
    if (!weight) return null;
    const body = { weight, unit: fields.unit, taken: fields.taken === "unknown" ? "" : fields.taken };
    if (fields.moved) body.note = form.elements.moved.dataset.note;
    return { entries: [makeEntry("weighing", "weighed_at", pup, body, tap)], offer: fields.offer ? Number(fields.offer) : undefined };
  }
  if (form.dataset.outbox === "check") {
    const seen = Object.entries(fields).filter(([name, value]) => value && !["token", "pup", "back", "note"].includes(name));
    if (seen.length === 0) return null;
    const entries = seen.map(([kind, value]) => makeEntry("check", "checked_at", pup, { kind, value, note: fields.note }, tap));
    // All were seen at one time.
    for (const e of entries) Object.assign(e.fact, { occurred_at: entries[0].fact.occurred_at, body: { ...e.fact.body, checked_at: entries[0].fact.occurred_at } });
    return { entries };
  }
  const feed = (body) => makeEntry("feed", "fed_at", pup, body, tap);
  const milk = fields.milk;
  switch (fields.what) {
    case "planned": {
      const entries = [feed({ method: fields.method, offered_ml: fields.shown, taken_ml: fields.shown, milk })];
      const warmth = get("rectal_temperature_c");
      if (warmth) {
        const check = makeEntry("check", "checked_at", pup, { kind: "rectal_temperature_c", value: warmth }, tap);
        check.fact.occurred_at = check.fact.body.checked_at = entries[0].fact.occurred_at;
        entries.push(check);
      }
      return { entries, shown: { amount: fields.shown, method: fields.method } };
    }
    case "other":
      return fields.taken_ml ? { entries: [feed({ method: fields.method, offered_ml: fields.taken_ml, taken_ml: fields.taken_ml, milk })] } : null;
    case "refused":
      return { entries: [feed({ method: fields.method, offered_ml: fields.shown, taken_ml: "0", milk })] };
    case "nursed":
      return { entries: [feed({ method: "nursing", weight_before_g: fields.before_g, weight_after_g: fields.after_g })] };
    case "skipped":
      return { entries: [makeEntry("note", "noted_at", pup, { text: fields.note }, tap)] };
    default:
      return null;
  }
}
