import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { fileURLToPath } from "node:url";
import { test } from "node:test";

const tsc = fileURLToPath(new URL("node_modules/typescript/bin/tsc", import.meta.url));

for (const project of ["tsconfig.json", "tsconfig.worker.json"])
  test(`Types of the modules, ${project}: TypeScript finds nothing wrong`, () => {
    const folder = fileURLToPath(new URL(".", import.meta.url));
    const checked = spawnSync(process.execPath, [tsc, "--project", project], { cwd: folder, encoding: "utf8" });
    assert.equal(checked.status, 0, checked.stdout + checked.stderr);
  });
