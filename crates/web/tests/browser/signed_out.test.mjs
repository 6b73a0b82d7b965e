// A phone that was signed out keeps nothing of a litter but the entries that the server does not have.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { endBrowser, hasPlan, house, litter, person, STARTS, until } from "./house.mjs";

const PASSWORD = "four plain words here";
const at = await house(STARTS, { password: PASSWORD });
after(async () => {
  await endBrowser();
  await at.end();
});

async function signIn(who) {
  await who.page.goto("/sign-in");
  await who.page.getByLabel("password").fill(PASSWORD);
  await who.tap("Sign in as the breeder");
  await who.page.waitForURL(`${at.address}/`);
}

/** How many of each kind this phone keeps. */
const kept = (who) => who.page.evaluate(() => new Promise((done) => {
  const asked = indexedDB.open("whelpward");
  asked.onsuccess = () => {
    const names = ["plans", "settled", "waiting"];
    const stores = asked.result.transaction(names);
    const counts = { drafts: Object.keys(sessionStorage).length };
    for (const name of names) stores.objectStore(name).count().onsuccess = (event) => { counts[name] = event.target.result; };
    stores.oncomplete = () => { asked.result.close(); done(counts); };
  };
}));

test("signed out, the plan, what was sent and what was typed are gone; what waits stays, is counted, and is sent", async () => {
  const who = await person(at);
  who.page.on("dialog", (dialog) => dialog.accept());
  await signIn(who);
  const { at: place, ids, names } = await litter(who, 4);
  await who.page.goto(`${place}/now`);
  await hasPlan(who);
  // One that the server has and no plan of this phone knows, one that it refuses, one that waits, one half typed:
  // that and the refused one are still in their fields.
  // Answered, without a plan: a request that fails would make the page think that the program is away.
  await who.context.route("**/ahead", (route) => route.fulfill({ contentType: "application/json", body: "{}" }));
  const weigh = async (name, grams) => {
    await who.page.goto(`${place}/weigh?pup=${ids[name]}`);
    await who.keys(grams);
    await who.tap(new RegExp(`^Save ${grams}`));
  };
  await weigh(names[0], "431");
  await who.page.locator(".saved").getByText(`${names[0]}: 431`).waitFor();
  const refuse = (route) => route.fulfill({ status: 403, contentType: "application/json", body: JSON.stringify({ why: "not today" }) });
  await who.context.route("**/api/v1/tap", refuse);
  await weigh(names[1], "432");
  await who.page.locator("[data-refused]").waitFor();
  await who.context.unroute("**/api/v1/tap");
  await who.context.route("**/api/v1/**", (route) => route.abort());
  await weigh(names[2], "433");
  await who.page.locator(".saved").getByText("Kept on this phone").waitFor();
  await who.page.goto(`${place}/weigh?pup=${ids[names[3]]}`);
  await who.keys("4");
  assert.deepEqual(await kept(who), { drafts: 2, plans: 1, settled: 1, waiting: 2 });

  // At the door of a home that it is signed in to, a phone forgets nothing.
  await who.page.goto("/sign-in");
  await who.page.getByRole("heading", { name: "Sign in" }).waitFor();
  assert.equal(await who.page.locator("[data-door]").count(), 0);
  assert.deepEqual(await kept(who), { drafts: 2, plans: 1, settled: 1, waiting: 2 });

  await who.page.goto("/who");
  await who.tap("Sign this device out");
  await who.page.getByText("Entries that wait on this phone: 1.").waitFor();
  await who.page.getByText("Entries that the server did not take: 1.").waitFor();
  assert.deepEqual(await kept(who), { drafts: 0, plans: 0, settled: 0, waiting: 2 });
  assert.deepEqual(await who.axe(), []);
  if (process.env.SHOT) await who.page.screenshot({ path: process.env.SHOT, fullPage: true });
  // Another look at the door loses nothing either.
  await who.page.reload();
  await who.page.getByText("Entries that wait on this phone: 1.").waitFor();

  await who.context.unroute("**/api/v1/**");
  await who.context.unroute("**/ahead");
  await signIn(who);
  await who.page.goto(`${place}/now`);
  await who.page.locator("[data-refused]").getByRole("button").click();
  await who.page.locator("[data-refused]").waitFor({ state: "detached" });
  await until(who.page, () => document.querySelector("[data-kept] p").textContent.startsWith("Saved on server"));
  for (const [name, grams] of [[names[1], "432"], [names[2], "433"]]) {
    await who.page.goto(`${place}/pup/${ids[name]}`);
    await who.page.getByText(new RegExp(`${grams}.g`)).first().waitFor();
  }
  assert.deepEqual(who.trouble.filter((t) => !/Failed to load resource|net::ERR/.test(t)), []);
  await who.close();
});
