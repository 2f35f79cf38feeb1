import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./modules.js";

const { proposedZone } = await load("set-up.js");

test("The browser's zone can be chosen: it is proposed", () =>
  assert.equal(proposedZone("Europe/Berlin", ["Europe/Paris", "Europe/Berlin"]), "Europe/Berlin"));

test("A zone that cannot be chosen, or none: nothing is proposed", () => {
  assert.equal(proposedZone("UTC", ["Europe/Paris"]), null);
  assert.equal(proposedZone(undefined, ["Europe/Paris"]), null);
});
