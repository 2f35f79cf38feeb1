// Questions that stand until somebody settles them: the oldest is asked on the screen, one tap answers it.

/** @import { BenchContext } from "./context.js" */
/** @import { AnswerSnapshot, QuestionSnapshot, ScreenCommand } from "./types.js" */
import { askLot, choose } from "./dialogs.js";
import { el, find, setText, show } from "./dom.js";
import { fill } from "./format.js";
import { command } from "./reports.js";
import { askWhen } from "./times.js";

export class Questions {
  /**
   * @param {BenchContext} screen
   * @param {(said: ScreenCommand) => void} send
   */
  constructor(screen, send) {
    this.screen = screen;
    this.send = send;
    this.w = screen.w;
    this.section = find(screen.root, ".question");
    /** Answered here, and not yet by any snapshot. @type {Set<string>} */
    this.answered = new Set();
    this.drawn = "";
    /** @type {QuestionSnapshot|null} */
    this.asked = null;
    find(this.section, ".question-open").addEventListener("click", () => void this.#ask());
  }

  /** @param {QuestionSnapshot[]} questions */
  render(questions) {
    const standing = new Set(questions.map(q => q.id));
    for (const id of this.answered) if (!standing.has(id)) this.answered.delete(id);
    const open = questions.filter(q => !this.answered.has(q.id));
    show(this.section, open.length > 0);
    const drawn = JSON.stringify(open);
    if (drawn === this.drawn) return;
    this.drawn = drawn;
    if (open[0]) this.#show(open[0], open.length);
  }

  /** An answer was not taken: it is asked again. @param {ScreenCommand} said */
  refused(said) {
    if (said.question) this.answered.delete(said.question);
    this.drawn = "";
  }

  /**
   * @param {QuestionSnapshot} question
   * @param {number} count
   */
  #show(question, count) {
    setText(
      find(this.section, ".question-count"),
      count === 1 ? this.w("QuestionOne") : fill(this.w("QuestionMany"), count),
    );
    this.asked = question;
    setText(find(this.section, ".question-words"), question.title);
    setText(find(this.section, ".question-title"), question.title);
    setText(find(this.section, ".question-text"), question.text);
    find(this.section, ".question-answers").replaceChildren(
      ...question.answers.map(answer =>
        el(
          "button",
          { type: "button", className: "side", onclick: () => void this.#answer(question, answer) },
          answer.text,
        ),
      ),
    );
  }

  /** Beside an alarm there is room for the question alone: its answers are asked for over the page. */
  async #ask() {
    const question = this.asked;
    if (!question) return;
    const answer = await choose(
      this.w,
      question.title,
      question.text,
      question.answers.map(a => ({ label: a.text, value: a })),
    );
    if (answer) await this.#answer(question, answer);
  }

  /**
   * @param {QuestionSnapshot} question
   * @param {AnswerSnapshot} answer
   */
  async #answer(question, answer) {
    const { w, screen } = this;
    /** @type {Partial<ScreenCommand>} */
    const says = { question: question.id, answer: answer.answer };
    /** @type {number|null} */
    let then = null;
    if (answer.slots.length > 0) {
      const slot = await choose(
        w,
        w("WhichSlot"),
        answer.text,
        answer.slots.map(s => ({ label: fill(w("SlotNumber"), s), value: s })),
      );
      if (slot === null) return;
      says.slot = slot;
    }
    if (answer.takesLot) {
      const lot = await askLot(w, null, screen.shown.lots);
      if (lot === null) return;
      says.lot = lot;
    }
    if (answer.takesTime) {
      const said = await askWhen(screen, w("EarlierTitle"), answer.text, true);
      if (said === null) return;
      then = said.at;
    }
    this.answered.add(question.id);
    const reported = screen.isAlone ? screen.alone.answer(question, answer.answer, then) : null;
    this.send(reported ?? command("answer", { at: then ?? screen.clock.now(), stated: answer.takesTime }, says));
  }
}
