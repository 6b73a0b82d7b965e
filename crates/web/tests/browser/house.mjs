// A program with a book of its own, and a browser that counts taps.

import { spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

export const SIZES = { phone: { width: 360, height: 740 }, desk: { width: 1280, height: 800 } };
export const STARTS = "2026-11-25T20:00:00Z";
const axe = readFileSync(fileURLToPath(import.meta.resolve("axe-core/axe.min.js")), "utf8");

/** Starts the program on a free port of this computer; with a password, as for a home network. */
export async function house(startsAt = STARTS, { env = {}, more = [], password, https = false } = {}) {
  const program = process.env.WHELPWARD_BIN;
  if (!program) throw new Error("WHELPWARD_BIN names the program; scripts/browser-test sets it");
  const folder = mkdtempSync(join(tmpdir(), "whelpward-pages-"));
  if (password) {
    const set = spawnSync(program, ["password", "--data", folder], { input: `${password}\n`, env: { ...process.env, WHELPWARD_DATABASE: "" } });
    if (set.status !== 0) throw new Error(`the password was not set: ${set.stderr}`);
    more = [...more, "--lan", "--bind", "127.0.0.1"];
  }
  let child;
  let secure;
  let told = "";
  /** Starts the program; on a port of its own, or on that of before. */
  const start = async (port = 0, from = startsAt, securePort = 0) => {
    const ports = ["--port", String(port), ...(https ? ["--https", "--https-port", String(securePort)] : [])];
    child = spawn(program, ["serve", ...ports, "--data", folder, "--starts-at", from, ...more], {
      stdio: ["ignore", "pipe", "inherit"],
      env: { ...process.env, TZ: "Europe/Berlin", WHELPWARD_DATABASE: "", ...env },
    });
    return new Promise((resolve, reject) => {
      let text = "";
      child.stdout.on("data", (bytes) => {
        text += bytes;
        const found = /http:\/\/127\.0\.0\.1:\d+/.exec(text);
        secure = /https:\/\/127\.0\.0\.1:\d+/.exec(text)?.[0];
        told = text;
        // The last line of what it says.
        if (found && (!password || text.includes("Ctrl-C"))) resolve(found[0]);
      });
      child.on("exit", (code) => reject(new Error(`the program ended: ${code} ${text}`)));
    });
  };
  const stop = async (signal = "SIGINT") => {
    const ended = new Promise((resolve) => child.once("exit", resolve));
    child.kill(signal);
    await ended;
  };
  const address = await start();
  // How far the program's time is ahead of ours: phones of a test have the program's.
  const ahead = Date.parse(startsAt) - Date.now();
  return {
    address,
    folder,
    ahead,
    pid: child.pid,
    stop,
    /** On the same port, its clock going on as if it had never ended. */
    start: (port, securePort) => start(port, new Date(Date.now() + ahead).toISOString(), securePort),
    /** Where the pages are found over https. */
    secure,
    /** What the program printed. */
    told: () => told,
    async end() {
      await stop();
      rmSync(folder, { recursive: true });
    },
  };
}

/** A browser; with a home folder of its own it trusts what was put there. */
export function launch(home) {
  return chromium.launch({
    env: home ? { ...process.env, HOME: home } : process.env,
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
  });
}

let shared;
export async function browser() {
  shared ??= await launch();
  return shared;
}
export async function endBrowser() {
  await shared?.close();
}

/** A page that counts taps and notices what a page must not do. */
export async function person(at, size = SIZES.phone, { clockAhead = 0, by, ...options } = {}) {
  const context = await (by ?? await browser()).newContext({
    viewport: size, baseURL: at.address, hasTouch: size.width < 600, locale: "en-GB", timezoneId: "Europe/Berlin", ...options,
  });
  await context.addInitScript((ahead) => {
    const Real = Date;
    window.Date = class extends Real {
      constructor(...given) { super(...(given.length > 0 ? given : [Real.now() + ahead])); }
      static now() { return Real.now() + ahead; }
    };
  }, (at.ahead ?? 0) + clockAhead);
  const page = await context.newPage();
  page.setDefaultTimeout(45000);
  const trouble = [];
  page.on("pageerror", (e) => trouble.push(`error: ${e.message}`));
  page.on("console", (m) => {
    // A question or a refusal is a page with its own status, not trouble.
    if (m.type() === "error" && !/status of (409|422)/.test(m.text())) trouble.push(`console: ${m.text()}`);
  });
  page.on("request", (r) => {
    if (!r.url().startsWith(at.address)) trouble.push(`outside: ${r.url()}`);
  });
  let taps = 0;
  return {
    page,
    context,
    trouble,
    taps: () => taps,
    forget: () => { taps = 0; },
    async tap(what) {
      taps += 1;
      await (typeof what === "string" || what instanceof RegExp ? page.getByRole("button", { name: what }).first() : what).click();
    },
    async link(name) {
      taps += 1;
      await page.getByRole("link", { name, exact: true }).first().click();
    },
    /** Digits on the drawn pad. */
    async keys(text) {
      let before = "";
      for (const key of text) {
        // A finger cannot touch one key twice within the 70 ms of a ghost touch; a machine can.
        if (key === before) await page.waitForTimeout(90);
        before = key;
        taps += 1;
        await page.locator(`.pad.ready:visible button[data-key="${key}"]`).click();
      }
    },
    /** Sends a form of ours without taps, to set a scene. */
    async post(path, fields, from = "/new") {
      // Over the home network a scene is set faster than one device is answered (429): then more slowly.
      while ((await page.goto(from)).status() === 429) await page.waitForTimeout(1000);
      const send = () => page.evaluate(async ([to, given]) => {
        const body = new URLSearchParams(given);
        body.set("token", document.querySelector("[name=token]").value);
        const answer = await fetch(to, { method: "POST", body });
        return { status: answer.status, url: answer.url, text: answer.ok ? "" : await answer.text() };
      }, [path, fields]);
      let status = await send();
      for (let tries = 0; status.status === 429 && tries < 5; tries += 1) {
        await page.waitForTimeout(1000);
        status = await send();
      }
      if (status.status !== 200) throw new Error(`${path}: ${status.status} ${status.text}`);
      return new URL(status.url).pathname;
    },
    async axe(of = this.page) {
      await of.evaluate(axe);
      return of.evaluate(async () => {
        const found = await window.axe.run(document, {
          runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
          rules: { "target-size": { enabled: true } },
        });
        // The bar at the bottom may lie over a target until the page is scrolled: scroll, and look again.
        const isReached = (node) => {
          const e = document.querySelector(node.target.at(-1));
          e.scrollIntoView({ block: "center" });
          const b = e.getBoundingClientRect();
          const at = [[b.left + 3, b.top + 3], [b.right - 3, b.bottom - 3], [b.left + b.width / 2, b.top + b.height / 2]];
          return at.every(([x, y]) => { const hit = document.elementFromPoint(x, y); return hit && (e.contains(hit) || hit.contains(e)); });
        };
        for (const v of found.violations) {
          v.nodes = v.nodes.filter((n) => !(v.id === "target-size" && /obscured/.test(n.any[0]?.message) && isReached(n)));
        }
        return found.violations.filter((v) => v.nodes.length > 0).map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ") + " " + (n.any[0]?.message ?? "")).join(" | ")}`);
      });
    },
    async close() {
      await context.close();
    },
  };
}

/** A litter of two days with weights of yesterday; everything that a feeding plan needs. */
let litters = 0;
export async function litter(who, count, { fedByHand = false } = {}) {
  litters += 1;
  const now = await who.post("/new", {
    name: `Clover ${litters}`, breed: "Labrador Retriever", expected_adult_weight_kg: "28", scale_step_g: "1", time_zone: "Europe/Berlin",
    weight_unit: "g", vet: "Night clinic", phone: "000 333 444",
  });
  const at = now.replace(/\/now$/, "");
  const colours = ["red", "blue", "yellow", "green", "orange", "purple", "white", "black"];
  const names = ["Ash", "Birch", "Cedar", "Elder", "Hazel", "Larch", "Rowan", "Willow"].slice(0, count);
  for (const [i, name] of names.entries()) {
    await who.post(`${at}/birth`, {
      name, sex: i % 2 ? "male" : "female", coat: "black", colour: colours[i], pattern: ["plain", "stripes", "dots", "checks"][i % 4],
      weight: String(400 + 7 * i), unit: "g", at: `2026-11-23 2${Math.floor(i / 4)}:${(i % 4) * 10 + 10}`,
    });
  }
  await who.page.goto(`${at}/weigh?since=0`);
  const ids = Object.fromEntries(await who.page.$$eval(".order a", (links) => links.map((l) => [l.querySelector("span").firstChild.textContent.replace(/\W/g, ""), new URL(l.href).searchParams.get("pup")])));
  for (const [i, name] of names.entries()) {
    await who.post(`${at}/weigh`, { pup: ids[name], weight: String(418 + 7 * i), unit: "g", at: "2026-11-25 08:05", taken: "before_feed" });
    for (const kind of [["palate", "whole"], ["suck", "strong"], ["colostrum_seen", "yes"]]) {
      await who.post(`${at}/check`, { pup: ids[name], [kind[0]]: kind[1], at: "2026-11-25 08:10" });
    }
  }
  if (fedByHand) {
    await who.post(`${at}/milk`, { id: "replacer", kind: "puppy_powder", kcal_per_ml: "1.1", powder_g: "10", water_ml: "25", use: "yes", looked: "yes" });
    await who.post(`${at}/check`, { pup: "", pups_with_dam: "no", at: "2026-11-25 08:00" });
  }
  return { at, ids, names };
}

/** Lays out the examples and gives the addresses of all four. */
export async function examples(who) {
  await who.post("/examples", {});
  await who.page.goto("/");
  return who.page.$$eval("a.card", (links) => Object.fromEntries(links.filter((l) => l.pathname.startsWith("/example/")).map((l) => [l.querySelector("strong").innerText, l.pathname.replace(/\/now$/, "")])));
}

let empty;
/** A page of nobody's, to look at pictures in. */
export async function blank() {
  empty ??= (await (await browser()).newContext()).newPage();
  return empty;
}

/** Mean relative luminance of what a page shows, by the WCAG formula, and the share of lit pixels. */
export async function luminance(who) {
  const shot = (await who.page.screenshot()).toString("base64");
  const measured = await (await blank()).evaluate(async (png) => {
    const image = new Image();
    image.src = `data:image/png;base64,${png}`;
    await image.decode();
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [image.width, image.height];
    const pen = canvas.getContext("2d");
    pen.drawImage(image, 0, 0);
    const { data } = pen.getImageData(0, 0, image.width, image.height);
    const linear = (v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
    let [sum, lit] = [0, 0];
    for (let i = 0; i < data.length; i += 4) {
      const l = 0.2126 * linear(data[i]) + 0.7152 * linear(data[i + 1]) + 0.0722 * linear(data[i + 2]);
      sum += l;
      if (l > 0.01) lit += 1;
    }
    return { mean: sum / (data.length / 4), lit: lit / (data.length / 4) };
  }, shot);
  return measured;
}

/** The pages of a litter that stand under a name of their own. */
export const PAGES = ["now", "weigh", "feed", "check", "litter", "birth", "milk", "milk/compare", `milk/blend?food=goat_milk&food=cream&food=egg_yolk&food=cottage_cheese&volume_ml=200&spread=0.5&at_most=&aim=mature&step_g=1`, "box", "dam", "aside", "stages", "stages/write", "stages/write?kind=worming", "stages/write?kind=chip", "nurse", "expecting", "supplies", "equipment", "timetable", "help", "vet", "sheet", "print", "print/weigh-sheet", "print/feed-sheet", "print/mix", "print/owner", "print/red-flags", "print/review", "paper", "more", "settings", "measure?kind=box_temperature_c"];

/** Every page there is, of the example with the most to show; and the four examples. */
export async function everyPage(who) {
  const places = await examples(who);
  const place = places.Heather;
  await who.page.goto(`${place}/now`);
  const pup = (await who.page.locator("a[href*='/pup/']").first().getAttribute("href")).split("/").at(-1);
  await who.page.goto(`${place}/pup/${pup}`);
  const entry = (await who.page.locator("a[href*='/entry/']").first().getAttribute("href")).split("/").at(-1);
  const every = ["/", "/new", "/white", "/padlock", "/household", "/household/audit", ...PAGES.map((p) => `${place}/${p}`), `${place}/pup/${pup}`, `${place}/check?pup=${pup}`, `${place}/weigh?pup=${pup}`, `${place}/entry/${entry}`, `${places["Windward"] ?? Object.values(places)[0]}/now`];
  return { places, place, pup, every };
}

/** Waits until something is so that the page can only find out by waiting itself. */
export async function until(page, isSo, given) {
  let timer;
  const late = new Promise((_, reject) => { timer = setTimeout(() => reject(new Error(`not within 45 s: ${isSo}`)), 45000); });
  try {
    while (!(await Promise.race([page.evaluate(isSo, given), late]))) await Promise.race([page.waitForTimeout(50), late]);
  } finally {
    clearTimeout(timer);
  }
}

/** Waits until the page has its plan for the time without the program: one made since the page was, not that of a page before. */
export const hasPlan = (who) => until(who.page, () => new Promise((done) => {
  const { litter, clock } = document.querySelector("main").dataset;
  const asked = indexedDB.open("whelpward");
  asked.onsuccess = () => {
    const all = asked.result.objectStoreNames.contains("plans") && asked.result.transaction("plans").objectStore("plans").getAll();
    if (!all) {
      asked.result.close();
      return done(false);
    }
    all.onsuccess = () => { asked.result.close(); done(all.result.some((kept) => kept.litter === litter && kept.plan.server_now_ms >= Number(clock))); };
  };
}));
