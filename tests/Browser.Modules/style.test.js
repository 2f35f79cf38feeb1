import assert from "node:assert/strict";
import { readdir, readFile } from "node:fs/promises";
import { test } from "node:test";
import { MODULES } from "./modules.js";

const MAX_COLUMNS = 120;
const MAX_LINES = 400;
/** Written by a test of the server's, as long as it needs to be. */
const GENERATED = ["types.js"];

const folders = [MODULES, new URL("../", MODULES), new URL("./", import.meta.url)];

test("Modules and their tests: lines and files are as short as the house wants them", async () => {
  const faults = [];
  for (const folder of folders)
    for (const file of (await readdir(folder)).filter(name => name.endsWith(".js"))) {
      const lines = (await readFile(new URL(file, folder), "utf8")).split("\n");
      const long = lines.length - 1 > MAX_LINES && !GENERATED.includes(file);
      if (long) faults.push(`${file} has ${lines.length - 1} lines`);
      for (const [i, line] of lines.entries())
        if (line.length > MAX_COLUMNS) faults.push(`${file}:${i + 1} has ${line.length} columns`);
    }
  assert.deepEqual(faults, []);
});
