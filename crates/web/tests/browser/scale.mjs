// A made-up scale: a pipe in the place of the device, and a report every 150 ms.

import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { open } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";

export function madeUpScale() {
  const folder = mkdtempSync(join(tmpdir(), "whelpward-scale-"));
  const path = join(folder, "device");
  execFileSync("mkfifo", [path]);
  let report = [3, 2, 2, 0, 0, 0];
  let pipe;
  let timer;
  return {
    path,
    async begin() {
      pipe = await open(path, "w");
      timer = setInterval(() => pipe.write(Uint8Array.from(report)).catch(() => {}), 150);
    },
    empty() { report = [3, 2, 2, 0, 0, 0]; },
    still(grams) { report = [3, 4, 2, 0, grams & 255, grams >> 8]; },
    moving(grams) { report = [3, 3, 2, 0, grams & 255, grams >> 8]; },
    async end() {
      clearInterval(timer);
      await pipe?.close();
      rmSync(folder, { recursive: true });
    },
  };
}
