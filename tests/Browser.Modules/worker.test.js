// The worker that serves the bench page without its server.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { createContext, runInContext } from "node:vm";

const PAGE = "/bench/bench-1";

/** The worker in a browser of one cache, and what that holds. */
function start() {
  /** @type {Map<string, Response>} */
  const kept = new Map();
  const cache = {
    match: async (/** @type {string} */ path) => kept.get(path),
    delete: async (/** @type {string} */ path) => kept.delete(path),
    put: async (/** @type {string} */ path, /** @type {Response} */ answer) => {
      const body = await answer.text();
      kept.set(path, new Response(body));
    },
  };
  const context = createContext({ Response, caches: { open: async () => cache }, setTimeout, URL });
  runInContext("var self = globalThis; self.addEventListener = () => {};", context);
  runInContext(readFileSync(new URL("../../src/Incubation.Server/wwwroot/sw.js", import.meta.url), "utf8"), context);
  return { kept, keep: /** @type {any} */ (context).keep, last: /** @type {any} */ (context).kept };
}

test("A page that has come whole takes the place of the last", async () => {
  const { keep, last } = start();
  await keep(PAGE, new Response("before"));
  await keep(PAGE, new Response("now"));
  assert.equal(await (await last(PAGE)).text(), "now");
});

test("A server that dies in mid-answer does not take away the page that is kept", async () => {
  const { keep, last } = start();
  await keep(PAGE, new Response("whole"));
  const dying = new ReadableStream({ pull: part => part.error(new Error("gone")) });
  await keep(PAGE, new Response(dying));
  assert.equal(await (await last(PAGE)).text(), "whole");
});
