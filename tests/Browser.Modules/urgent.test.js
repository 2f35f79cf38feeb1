import assert from "node:assert/strict";
import { test } from "node:test";
import { load, snapshot } from "./modules.js";
import { FakeElement, pretendPage } from "./page.js";

pretendPage();
const { UrgentNews } = await load("urgent.js");

test("What is urgent is said until it was seen or begun; what comes after that is said anew", () => {
  const [news, text, button] = [new FakeElement(), new FakeElement(), new FakeElement()];
  news.querySelector = selector => (selector === "button" ? button : text);
  const urgent = new UrgentNews({ root: { querySelector: () => news } });
  const one = { request: "R7", text: "Urgent: SP-7, result by about 20:49, begin at 20:41" };
  const other = { request: "R8", text: "Urgent: SP-8 has come, no plan for it yet" };

  urgent.render(snapshot({ urgent: [] }));
  assert.equal(news.hidden, true);
  urgent.render(snapshot({ urgent: [one] }));
  assert.deepEqual([news.hidden, text.textContent], [false, one.text]);

  button.dispatch("click");
  assert.equal(news.hidden, true);
  urgent.render(snapshot({ urgent: [one] }));
  assert.equal(news.hidden, true);

  urgent.render(snapshot({ urgent: [one, other] }));
  assert.deepEqual([news.hidden, text.textContent], [false, other.text]);
  urgent.render(snapshot({ urgent: [] }));
  assert.equal(news.hidden, true);
});
