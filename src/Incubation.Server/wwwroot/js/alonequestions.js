// What a screen without its server asks: of steps with which its own patience has ended, and what the server asked
// before, without what has been told since. Pure but for the names of commands.

/** @import { BenchSnapshot, QuestionSnapshot, ScreenCommand } from "./types.js" */
/** @import { Known } from "./alone.js" */
/** @import { AloneBench } from "./alonebench.js" */
/** @import { Unknown } from "./notknown.js" */
import { reasonOf } from "./alone.js";
import { fill } from "./format.js";
import { placesOf } from "./notknown.js";
import { command } from "./reports.js";

/**
 * The questions, those of steps that are not known first, above all of a reader: they keep others from being done.
 * @param {BenchSnapshot} snapshot
 * @param {Known} known
 * @returns {QuestionSnapshot[]}
 */
export function questionsAlone(snapshot, { bench }) {
  const asked = snapshot.questions.filter(one => one.kind !== "step-not-known" || bench.unknownOf(one.request));
  const own = bench.notKnown.filter(step => !asked.some(one => one.id === idOf(step)))
    .sort((a, b) => Number(b.reader !== null) - Number(a.reader !== null));
  return [...own.flatMap(step => questionOf(snapshot, bench, step)), ...asked];
}

/**
 * What an answer to a question about a step that is not known reports; null for any other question. It stands whether
 * or not the server asks the same.
 * @param {BenchSnapshot} snapshot
 * @param {Known} known
 * @param {QuestionSnapshot} question
 * @param {string} answer
 * @param {number|null} then The time that was stated.
 * @param {number} now
 * @returns {ScreenCommand|null}
 */
export function reportOfAnswer(snapshot, { bench }, question, answer, then, now) {
  const step = question.kind === "step-not-known" ? bench.unknownOf(question.request) : undefined;
  if (!step || answer === "not-begun") return null;
  const { kind, request, slot, reader } = step;
  if (answer === "spoilt") return command("discarded", { at: now }, { request, reason: "dropped" });
  const when = { at: then ?? now, stated: true };
  switch (kind) {
    case "mix": return command("mixed", when, { request });
    case "load": return command("loaded", when, slot ? { request, slot } : { request, reader });
    case "move": {
      const inTime = now > (bench.windowOf(request)?.closes ?? now) ? true : null;
      return command("read-started", when, { request, reader, inTime });
    }
    case "clear": return command("cleared", when, { request, reader });
    default: return command("discarded", when, { request, reason: reasonOf(snapshot, request) ?? "window-closed" });
  }
}

/** As the server names the same question. @param {Unknown} step */
const idOf = step => `step-not-known/${step.request}`;

/**
 * @param {BenchSnapshot} snapshot
 * @param {AloneBench} bench
 * @param {Unknown} step
 * @returns {QuestionSnapshot[]}
 */
function questionOf(snapshot, bench, step) {
  const words = snapshot.alone?.questions.find(one => one.kind === step.kind);
  if (!snapshot.alone || !words) return [];
  const [place] = placesOf(bench.day, step);
  const name = place && (place.resource === "slot" ? snapshot.alone.slotNames : snapshot.alone.readerNames)
    [place.number - 1];
  const specimen = bench.day.requests.get(step.request)?.specimen ?? step.request;
  return [{
    id: idOf(step), kind: "step-not-known", title: fill(words.title, specimen, name ?? ""),
    text: fill(name ? words.placeText : words.text, specimen, name ?? ""),
    since: new Date(bench.silent.get(step.hands) ?? step.begun).toISOString(), report: null, request: step.request,
    specimen, other: null, otherSpecimen: null, slot: step.slot, reader: step.reader, answers: words.answers,
  }];
}
