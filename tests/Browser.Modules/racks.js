// Racks without a page, and the server that they ask.

import { FakeStorage, load, pretend } from "./modules.js";

pretend({ localStorage: new FakeStorage(), document: { querySelector: () => null } });
const { RackList } = await load("racklist.js");

export const ROUND_TRIP_MS = 500;

/** Lists in a storage of their own, with ids 1, 2, 3… */
export const listIn = (storage = new FakeStorage()) => {
  let next = 0;
  return new RackList("bench-1", storage, () => `id-${++next}`);
};

/** Until everything that this instant has begun is over. */
export const soon = async () => {
  for (let turn = 0; turn < 20; turn++) await Promise.resolve();
};

/** What a rack shows, where nobody looks. */
export const unseen = () => ({
  isOpen: true, open() {}, close() {}, render() {}, tone() {}, seek() {}, assaysOf: line => line.assays.join(", "),
  assaysOfTile: key => [key.slice(2)], unfinished: () => "",
});

/** A server that answers after a round trip; what it is sent stands in the list. */
export function pretendServer(answers) {
  const sent = [];
  pretend({
    fetch: (address, { method, body } = {}) => new Promise((done, fail) => {
      const said = method ? JSON.parse(body) : null;
      sent.push({ address, said });
      setTimeout(() => {
        const answer = answers(address, said);
        if (answer) done({ status: 200, json: async () => answer });
        else fail(new Error("The line is lost."));
      }, ROUND_TRIP_MS);
    }),
  });
  return sent;
}
