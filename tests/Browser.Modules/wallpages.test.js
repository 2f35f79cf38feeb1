import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./modules.js";

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
