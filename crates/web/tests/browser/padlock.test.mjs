// The pages over https: what a browser that trusts the household's authority may do beyond plain http.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, test } from "node:test";
import { endBrowser, hasPlan, house, launch, litter, luminance, person, STARTS, until } from "./house.mjs";

const PASSWORD = "four plain words here";
const at = await house(STARTS, { password: PASSWORD, https: true });
const locked = { ...at, address: at.secure };
const home = mkdtempSync(join(tmpdir(), "whelpward-trust-"));
let trusting;
after(async () => {
  await trusting?.close();
  await endBrowser();
  await at.end();
  rmSync(home, { recursive: true });
});

/** A browser that was told to trust the household's authority, in the way of this system. */
async function trustingBrowser() {
  if (trusting) return trusting;
  const answer = await fetch(`${at.address}/padlock/authority.crt`);
  assert.equal(answer.headers.get("content-type"), "application/x-x509-ca-cert");
  writeFileSync(join(home, "authority.crt"), Buffer.from(await answer.arrayBuffer()));
  const shelf = join(home, ".pki", "nssdb");
  mkdirSync(shelf, { recursive: true });
  for (const args of [["-N", "--empty-password"], ["-A", "-t", "C,,", "-n", "household", "-i", join(home, "authority.crt")]]) {
    const done = spawnSync("certutil", ["-d", `sql:${shelf}`, ...args]);
    assert.equal(done.status, 0, String(done.stderr));
  }
  trusting = await launch(home);
  return trusting;
}

/** Somebody who signed in over https. */
async function carer() {
  const who = await person(locked, undefined, { by: await trustingBrowser() });
  await who.page.goto("/sign-in");
  await who.page.getByLabel("The household's password").fill(PASSWORD);
  await who.tap("Sign in as the breeder");
  await who.page.waitForURL((url) => url.pathname !== "/sign-in");
  return who;
}

const cut = /ERR_|Failed to load resource/;

test("a browser that trusts nobody is warned, one that was told to trust is not", async () => {
  const guest = await person(locked);
  await assert.rejects(guest.page.goto("/sign-in"), /ERR_CERT_AUTHORITY_INVALID/);
  await guest.close();

  const plain = await person(at);
  await plain.page.goto("/padlock");
  // What a device shows of the file is what the program printed; the page, which somebody could change, says neither.
  await trustingBrowser();
  const shown = spawnSync("openssl", ["x509", "-inform", "der", "-in", join(home, "authority.crt"), "-noout", "-fingerprint", "-sha256"]);
  const fingerprint = String(shown.stdout).trim().split("=")[1];
  assert.equal(at.told().replace(/\s/g, "").includes(fingerprint), true, at.told());
  assert.equal((await plain.page.content()).includes(fingerprint.slice(0, 11)), false);
  assert.deepEqual(await plain.axe(), []);
  assert.equal(await plain.page.evaluate(() => document.documentElement.scrollWidth > innerWidth), false);
  await plain.close();

  const who = await carer();
  const cookies = await who.context.cookies();
  const session = cookies.find((c) => c.name === "__Host-whelpward_session");
  assert.deepEqual([session.secure, session.httpOnly, session.path], [true, true, "/"]);
  assert.equal(cookies.some((c) => c.name === "whelpward_session"), false);
  // The same browser at the plain address is nobody.
  await who.page.goto(`${at.address}/`);
  assert.equal(new URL(who.page.url()).pathname, "/sign-in");
  await who.close();
});

/** Waits until the phone could open the litter's pages by itself. */
async function hasFrame(who, place) {
  await until(who.page, async (frame) => Boolean(await (await caches.open("whelpward-frames")).match(frame, { ignoreSearch: true })), `${place}/away`);
  await until(who.page, async () => Boolean((await navigator.serviceWorker.getRegistration())?.active));
  await hasPlan(who);
}

test("the frame is fetched once, and again only when it would say something else", async () => {
  const who = await carer();
  const { at: place } = await litter(who, 2);
  const fetched = [];
  who.context.on("request", (request) => { if (new URL(request.url()).pathname.endsWith("/away")) fetched.push(new URL(request.url()).pathname); });
  const frames = () => who.page.evaluate(async () => (await (await caches.open("whelpward-frames")).keys()).map((kept) => new URL(kept.url)).filter((url) => url.pathname.endsWith("/away")).map((url) => url.pathname + url.search));
  const mark = () => who.page.locator("main").getAttribute("data-frame-mark");
  // A page has seen to its frame when that lies behind what lay there last.
  const layLast = () => who.page.evaluate(async () => (await caches.open("whelpward-frames")).put("/last", new Response("")));
  const seenTo = async (at) => until(who.page, async (place) => (await (await caches.open("whelpward-frames")).keys()).at(-1)?.url.endsWith(place), `${at}/away?${await mark()}`);
  const open = async (page, at = place) => {
    await layLast();
    await who.page.goto(`${at}/${page}`);
    await seenTo(at);
  };
  await open("now");
  const first = await mark();
  fetched.length = 0;
  for (const page of ["weigh", "feed", "check", "more", "now"]) await open(page);
  // An entry changes the pages and not their frame.
  await open("weigh");
  await who.keys("455");
  await who.tap(/^Save 455/);
  await who.page.locator(".saved").first().waitFor();
  await open("now");
  assert.deepEqual([await mark(), fetched], [first, []]);

  // Another theme: fetched once, and it takes the place of the one before.
  await who.page.goto(`${place}/settings`);
  await who.page.getByRole("button", { name: "Day", exact: true }).click();
  await who.page.locator("html.day").waitFor();
  await seenTo(place);
  await open("weigh");
  assert.notEqual(await mark(), first);
  assert.deepEqual([fetched, await frames()], [[`${place}/away`], [`${place}/away?${await mark()}`]]);

  // It says nothing of the time at which it was kept.
  const said = await who.page.evaluate(async (at) => (await (await caches.open("whelpward-frames")).match(at, { ignoreSearch: true })).text(), `${place}/away`);
  assert.match(said, /data-frame /);
  assert.doesNotMatch(said, /data-at=|Saved on server \d/);

  // Of two litters the one that was seen last opens on the first page, also where nothing was fetched.
  const { at: other } = await litter(who, 1);
  await open("now", other);
  fetched.length = 0;
  await open("now");
  assert.deepEqual(fetched, []);
  await at.stop("SIGKILL");
  try {
    await who.page.goto(`${at.secure}/`);
    await who.page.getByRole("heading", { name: "Without the server" }).waitFor();
    assert.equal(await who.page.locator("main").getAttribute("data-here"), `${place}/`);
  } finally {
    await again();
  }
  await who.close();
});

/** What the program's clock says when it starts again goes on from before. */
const again = () => at.start(...[at.address, at.secure].map((a) => Number(new URL(a).port)));

test("a page opens while the program is away, with the plan of the phone, and the entry arrives later", async () => {
  const who = await carer();
  const { at: place, ids, names } = await litter(who, 2, { fedByHand: true });
  await who.page.goto(`${place}/now`);
  await hasFrame(who, place);
  // The page asks before it is left with an entry that waits.
  who.context.on("dialog", (dialog) => dialog.accept().catch(() => {}));
  await at.stop("SIGKILL");
  try {
    await who.page.goto(`${place}/weigh`);
    await who.page.locator(".subject strong", { hasText: names[0] }).waitFor();
    assert.match(await who.page.locator("[data-kept] p").first().innerText(), /^Server not reached since 2[01]:\d\d$/);
    // By the clock of the litter it is evening: the frame is dark.
    assert.equal(await who.page.evaluate(() => document.documentElement.className), "night");
    await who.keys("455");
    await who.tap(/^Save 455/);
    await who.page.locator(".saved").getByText("Kept on this phone").waitFor();
    // A pup that the plan does not know, and pages that no frame stands for.
    await who.page.goto(`${place}/weigh?pup=01a20000-0000-7000-8000-000000000000`);
    await who.page.getByRole("heading", { name: "Without the server" }).waitFor();
    for (const none of ["/sign-in", "/household", "/litter/01a20000-0000-7000-8000-000000000000/feed"]) {
      const other = await who.context.newPage();
      await assert.rejects(other.goto(none), /ERR_(FAILED|CONNECTION_REFUSED)/, none);
      await other.close();
    }
    // Closed and opened anew, from the first page: the plan is there, the entry too.
    const before = who.page;
    who.page = await who.context.newPage();
    await before.close();
    await who.page.goto(`${at.secure}/`);
    await who.page.getByRole("heading", { name: "Without the server" }).waitFor();
    await who.page.getByText("also when this page is closed").waitFor();
    await who.page.getByText(/^As known at 2[01]:\d\d/).waitFor();
    assert.match(await who.page.locator("[data-kept] p").first().innerText(), /^1 waiting on this phone/);
    if (process.env.SHOT) await who.page.screenshot({ path: process.env.SHOT });
    const { mean } = await luminance(who);
    assert.ok(mean <= 0.03, `mean relative luminance ${mean}`);
    assert.deepEqual(await who.axe(), []);
  } finally {
    await again();
  }
  // The address that was asked for, as soon as the program is there.
  await who.page.getByRole("heading", { name: "Without the server" }).waitFor({ state: "detached", timeout: 60000 });
  await who.page.goto(`${place}/pup/${ids[names[0]]}`);
  await who.page.getByText(/455.g/).first().waitFor();
  assert.deepEqual(who.trouble.filter((t) => !cut.test(t)), []);

  // Signed out, the phone has no page left to open.
  await who.page.goto("/who");
  await who.page.getByRole("button", { name: "Sign this device out" }).click();
  await who.page.waitForURL(/sign-in/);
  await until(who.page, async () => !(await caches.has("whelpward-frames")));
  await who.close();
});

test("what the program took and no plan of the phone knows still counts on it: a fed pup, a cold one", async () => {
  const who = await carer();
  const { at: place, ids, names } = await litter(who, 2, { fedByHand: true });
  const [fed, cold] = names;
  await who.page.goto(`${place}/now`);
  await hasFrame(who, place);
  // From here on no newer plan reaches the phone.
  await who.context.route("**/ahead", (route) => route.abort());
  await who.page.goto(`${place}/feed?pup=${ids[fed]}`);
  await who.page.getByLabel(/Rectal temperature/).first().fill("36.0");
  await who.tap(/^(Checked, and f|F)ed .* mL/);
  await who.page.locator(".saved").first().waitFor();
  await who.page.goto(`${place}/check?pup=${ids[cold]}`);
  await who.page.getByLabel(/Rectal temperature/).first().fill("33.0");
  await who.tap(/^Save/);
  await who.page.locator(".saved").first().waitFor();
  await at.stop("SIGKILL");
  try {
    await who.page.goto(`${place}/now`);
    await who.page.getByRole("heading", { name: "Without the server" }).waitFor();
    await who.page.getByRole("button", { name: "Feed" }).click();
    const order = who.page.locator(".order button");
    await order.filter({ hasText: `${fed} ✓` }).waitFor();
    await order.filter({ hasText: cold }).click();
    await who.page.getByText(/Too cold for milk at 33.0/).waitFor();
    assert.equal(await who.page.locator(".dose").count(), 0);
  } finally {
    await again();
  }
  await who.close();
});

test("the screen stays lit where something is entered, and nothing of this is done over plain http", async () => {
  const asked = () => {
    const real = navigator.wakeLock?.request?.bind(navigator.wakeLock);
    window.lit = 0;
    if (real) navigator.wakeLock.request = (kind) => { window.lit += 1; return real(kind); };
  };
  const who = await carer();
  await who.context.addInitScript(asked);
  const { at: place } = await litter(who, 2);
  await who.page.goto(`${place}/weigh`);
  await who.page.waitForFunction(() => window.lit === 1);
  await who.page.goto(`${place}/now`);
  assert.equal(await who.page.evaluate(() => window.lit), 0);
  await who.close();

  const plain = await person(at);
  await plain.page.goto("/sign-in");
  await plain.page.getByLabel("The household's password").fill(PASSWORD);
  await plain.tap("Sign in as the breeder");
  await plain.page.goto(`${place}/now`);
  await hasPlan(plain);
  assert.equal(await plain.page.evaluate(async () => (await navigator.serviceWorker.getRegistrations()).length), 0);
  await plain.close();
});
