import assert from "node:assert/strict";
import { test } from "node:test";
import { load, secondsOf, t } from "./modules.js";

const { lastFinish } = await load("format.js");
const { pageAt, readShare, shareOf, shiftAt } = await load("wallpages.js");

for (const [share, benches, expected] of [
  ["2/3", 7, "2,3,4"], ["3/3", 7, "5,6"], ["1/1", 3, "0,1,2"], ["4/3", 3, "0,1,2"], ["1/4", 1, ""], ["x", 2, "0,1"],
])
  test(`Screen ${share} of ${benches} benches: neighbours, and each bench once`, () =>
    assert.equal(shareOf([...Array(benches).keys()], readShare(share)).join(), expected));

test("Nine benches: three pages of three, and around again", () => {
  const said = [0, 15_000, 30_000, 45_000].map(at => {
    const p = pageAt(9, at);
    return `${p.page}/${p.pages}: ${p.from}-${p.to}`;
  });
  assert.deepEqual(said, ["0/3: 0-3", "1/3: 3-6", "2/3: 6-9", "0/3: 0-3"]);
  const { from, to } = pageAt(4, 99_000);
  assert.deepEqual([from, to], [0, 4]);
});

test("Over an hour: the picture stands nowhere for long", () => {
  const places = new Map();
  for (let i = 0; i < 3600; i++) {
    const place = shiftAt(i * 1000).join();
    places.set(place, (places.get(place) ?? 0) + 1);
  }
  assert.deepEqual([places.size, Math.max(...places.values())], [8, 480]);
});

for (const [what, batches, others, expected] of [
  ["the last of the benches that run", [["running", 100], ["running", 300], ["preparing", 900]], null, 300],
  ["another that is not seen here", [["running", 100]], 700, 700],
  ["none that is over", [["running", -20], ["finished", -50]], -10, null],
])
  test(`Expected finish: that of ${what}`, () => {
    const finish = lastFinish(batches.map(([phase, at]) => ({ phase, finish: t(at) })),
      others === null ? null : t(others), Date.parse(t(0)));
    assert.equal(finish === null ? null : secondsOf(new Date(finish).toISOString()), expected);
  });
