// At the door, where nobody has signed in: what this phone kept of a litter goes. Entries that the server does not
// have stay, and are counted.

import { forgetDrafts } from "./pad.js";
import { forgetFrames } from "./padlock.js";
import { allEntries, forgetPlans } from "./shelf.js";

export async function atTheDoor() {
  const box = document.querySelector("[data-door]");
  if (!box) return;
  forgetDrafts();
  try {
    await forgetFrames();
    await forgetPlans();
    const all = await allEntries();
    const refused = all.filter((e) => e.refused).length;
    const counts = [[box.dataset.waiting, all.length - refused], [box.dataset.refused, refused]];
    for (const [text, count] of counts.filter(([, n]) => n > 0)) {
      box.append(Object.assign(document.createElement("p"), { textContent: text.replace("{}", count) }));
      box.hidden = false;
    }
  } catch {
    // A phone that keeps nothing of its own has nothing to forget.
  }
}
