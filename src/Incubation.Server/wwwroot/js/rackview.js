// What a rack intake shows: tiles, the list with the newest first, and one button that adds all of it.

/** @import { Rack } from "./rack.js" */
/** @import { RackLine } from "./racklist.js" */
import { el, setText, show } from "./dom.js";
import { fill } from "./format.js";
import { lineItem } from "./rackline.js";
import { pastePart } from "./rackpaste.js";
import { blip } from "./racksound.js";
import { tubesOf } from "./racktubes.js";

export class RackView {
  /** @param {Rack} rack */
  constructor(rack) {
    this.rack = rack;
    /** The line that is being edited, or the one whose specimen is being rejected. @type {string|null} */
    this.at = null;
    /** What is being done there. @type {"edit"|"reject"} */
    this.doing = "edit";
    /** The assay whose lot is being chosen. @type {string|null} */
    this.lotOf = null;
    /** @type {{id: string, of: string, item: HTMLElement}[]} */
    this.items = [];
    this.tilesOf = "";
    this.lotsOf = "";
    /** @type {Element|null} */
    this.from = null;
    this.parts = build(rack, this);
  }

  get isOpen() {
    return this.parts.dialog.open && this.parts.dialog.isConnected;
  }

  open() {
    if (this.isOpen) return;
    this.from = document.activeElement;
    const beside = document.querySelector(".bench-aside");
    (beside ?? document.body).append(this.parts.dialog);
    // At the bench nothing may hide an alarm; elsewhere the page waits behind.
    if (beside) this.parts.dialog.show();
    else this.parts.dialog.showModal();
    this.parts.title.focus();
    this.parts.dialog.scrollIntoView({ block: "nearest" });
  }

  close() {
    this.parts.dialog.close();
    this.parts.dialog.remove();
    if (this.from instanceof HTMLElement && this.from.isConnected) this.from.focus();
  }

  /** @param {boolean} isGood */
  tone(isGood) {
    blip(isGood);
  }

  /** @param {boolean} isOpen */
  paste(isOpen) {
    const { paste } = this.parts;
    paste.replaceChildren(...(isOpen ? [pastePart(this.rack, () => this.paste(false))] : []));
    show(paste, isOpen);
    this.render();
    paste.querySelector("textarea")?.focus({ preventScroll: true });
    // What is found in it is seen below it.
    if (isOpen) paste.scrollIntoView({ block: "start" });
  }

  /** Brings a line, and with it what is asked about it, into sight. @param {string} line */
  seek(line) {
    this.items.find(one => one.id === line)?.item.scrollIntoView({ block: "nearest" });
  }

  /** What a line is for, in words. @param {Pick<RackLine, "assays">} line */
  assaysOf(line) {
    const { sheet } = this.rack;
    return line.assays.map(code => sheet?.assays.find(assay => assay.code === code)?.name ?? code).join(", ");
  }

  /** @param {string} key @returns {string[]} */
  assaysOfTile(key) {
    const { sheet } = this.rack;
    const name = key.slice(2);
    return key.startsWith("p:") ? (sheet?.panels?.find(panel => panel.name === name)?.assays ?? []) : [name];
  }

  /** @param {string|null} id @param {"edit"|"reject"} [doing] */
  work(id, doing = "edit") {
    [this.at, this.doing] = [id, doing];
    this.rack.hush();
    const field = this.parts.dialog.querySelector(".rack-form input");
    if (field instanceof HTMLElement) field.focus();
  }

  /** What somebody has begun and neither entered nor cancelled, in a sentence; "" where there is nothing. */
  unfinished() {
    const { list, w } = this.rack;
    return unfinishedOf({ at: this.at, doing: this.doing, lines: list.lines, typed: this.parts.input.value }, w);
  }

  render() {
    const { rack } = this;
    const { w, list } = rack;
    const { parts } = this;
    const focus = parts.dialog.contains(document.activeElement) ? document.activeElement : null;
    // A line that is gone is not being edited any more.
    if (!list.lines.some(line => line.id === this.at)) this.at = null;
    this.#tiles();
    this.#lots();
    const next = this.assaysOf({ assays: list.chosen });
    setText(this.parts.next, next === "" ? "" : fill(w("NextTube"), next));
    press(this.parts.urgent, list.urgent);
    press(this.parts.out, list.takenOut !== null);
    setText(this.parts.said, rack.said.text);
    this.parts.said.setAttribute("data-good", String(rack.said.isGood));
    setText(this.parts.line, rack.isOffline ? w(list.sending ? "OfflineSending" : "Offline") : "");
    const tubes = tubesOf(list.sending?.lines ?? []);
    show(this.parts.way, tubes > 0);
    setText(this.parts.way, tubes > 0 ? fill(w(tubes === 1 ? "SendingOne" : "SendingMany"), tubes) : "");
    const count = tubesOf(list.lines);
    const doubtful = new Set(rack.doubts.map(doubt => doubt.line));
    const asked = tubesOf(list.lines.filter(line => doubtful.has(line.id)));
    setText(this.parts.count, count === 0 ? w("Empty")
      : asked === 0 ? fill(w(count === 1 ? "CountOne" : "CountMany"), count)
      : fill(w(count === 1 ? "CountOneAsked" : "CountManyAsked"), count, asked));
    this.#rows();
    setText(this.parts.add, tubes > 0 && rack.isSending ? w("Adding") : tubes > 0 ? fill(w("AddAgain"), tubes)
      : count === 0 ? w("AddNone") : count === 1 ? w("AddOne") : fill(w("AddAll"), count));
    this.parts.add.toggleAttribute("disabled", (count === 0 && tubes === 0) || (tubes > 0 && rack.isSending));
    const labels = rack.added.length;
    show(this.parts.labels, labels > 0 && count === 0);
    this.parts.labels.setAttribute("href", labelsAt(rack.bench, rack.added));
    const print = fill(w(labels === 1 ? "LabelsOne" : "LabelsMany"), labels);
    setText(this.parts.labels, print);
    this.parts.labels.setAttribute("aria-label", fill(w("LabelsNewTab"), print));
    show(this.parts.undo, list.canUndo);
    show(this.parts.type, this.at === null && this.parts.paste.hidden);
    // Whoever settled something by a press goes on with the next tube.
    if (focus && (!focus.isConnected || focus.closest("[hidden]"))) parts.input.focus({ preventScroll: true });
  }

  #tiles() {
    const { rack } = this;
    const { sheet, w } = rack;
    const of = JSON.stringify([sheet?.assays.map(a => [a.code, a.name, a.noLot]), sheet?.panels]);
    if (of !== this.tilesOf) {
      this.tilesOf = of;
      const tile = (/** @type {string} */ key, /** @type {string} */ name, /** @type {string} */ under) => el(
        "button", { type: "button", className: "rack-tile", "data-tile": key, onclick: () => rack.tile(key) },
        el("span", { className: "rack-tile-name" }, name), el("span", { className: "rack-tile-under" }, under));
      this.parts.tiles.replaceChildren(
        ...(sheet?.panels ?? []).map(panel => tile(`p:${panel.name}`, panel.name, panel.assays.join(" + "))),
        ...(sheet?.assays ?? []).map(assay => tile(`a:${assay.code}`, assay.name,
          assay.noLot ? w("TileNoLot") : "")));
      if (sheet && sheet.assays.length === 0) this.parts.tiles.append(el("p", {}, w("NoAssays")));
    }
    for (const tile of this.parts.tiles.querySelectorAll("[data-tile]"))
      press(/** @type {HTMLElement} */ (tile), rack.tiles.has(tile.getAttribute("data-tile") ?? ""));
  }

  /** The lots of what is chosen: the one that expires first, until somebody chooses another. */
  #lots() {
    const { list, sheet, w } = this.rack;
    const assays = (sheet?.assays ?? []).filter(assay => list.chosen.includes(assay.code));
    const of = JSON.stringify([assays, list.lots, this.lotOf]);
    if (of === this.lotsOf) return;
    this.lotsOf = of;
    this.parts.lots.replaceChildren(...assays.map(assay => {
      const lot = assay.lots.find(one => one.lot === list.lots[assay.code]) ?? assay.lots[0];
      if (!lot) return el("p", { className: "rack-lot-none" }, assay.noLot ?? w("TileNoLot"));
      const open = () => {
        this.lotOf = assay.code;
        this.render();
        this.parts.lots.querySelector("select")?.focus();
      };
      if (this.lotOf !== assay.code)
        return el("button", {
          type: "button", className: "rack-button rack-lot", "aria-label": fill(w("LotOf"), assay.code, lot.text),
          onclick: open,
        }, fill(w("Lot"), assay.code, lot.text));
      const choose = el("select", { id: "rack-lot" }, ...assay.lots.map(one =>
        el("option", { value: one.lot, selected: one.lot === lot.lot }, one.text)));
      choose.addEventListener("change", () => {
        this.lotOf = null;
        list.useLot(assay.code, /** @type {HTMLSelectElement} */ (choose).value);
        this.rack.changed();
      });
      return el("p", { className: "rack-lot-choice" },
        el("label", { htmlFor: "rack-lot" }, fill(w("LotFor"), assay.name)), choose);
    }));
  }

  /** The newest first. What stands there already is left in its place: somebody may be at it. */
  #rows() {
    const { rack } = this;
    const old = new Map(this.items.map(one => [one.id, one]));
    this.items = rack.list.lines.toReversed().map(line => {
      const doubts = rack.doubts.filter(doubt => doubt.line === line.id);
      const doing = this.at === line.id ? this.doing : null;
      // What somebody is typing into stays as it is.
      const of = JSON.stringify(doing ? [line.id, doing] : [line, doubts, this.tilesOf]);
      const there = old.get(line.id);
      return there?.of === of ? there : { id: line.id, of, item: lineItem(rack, line, doubts, doing) };
    });
    const wanted = new Set(this.items.map(one => one.item));
    for (const item of [...this.parts.rows.children]) if (!wanted.has(/** @type {HTMLElement} */ (item))) item.remove();
    this.items.forEach(({ item }, i) => {
      if (this.parts.rows.children[i] !== item) this.parts.rows.insertBefore(item, this.parts.rows.children[i] ?? null);
    });
  }

  /** Codes by the camera, one after another, until it is closed. */
  async film() {
    const { film } = await import("./camera.js");
    const { w } = this.rack;
    const says = el("p", { role: "status" }, w("CameraLooking"));
    const video = /** @type {HTMLVideoElement} */ (el("video", { muted: true, playsInline: true }));
    const end = await film(video, text => this.rack.take(text), why => setText(says, w(why)));
    const close = el("button", {
      type: "button", className: "rack-button",
      onclick: () => {
        end();
        show(this.parts.camera, false);
      },
    }, w("CameraClose"));
    this.parts.camera.replaceChildren(video, says, close);
    this.parts.dialog.addEventListener("close", end, { once: true });
    show(this.parts.camera, true);
  }
}

/**
 * What is begun on a sheet, in a sentence that says how to end it.
 * @param {{at: string|null, doing: "edit"|"reject", lines: RackLine[], typed: string}} begun
 * @param {(key: string) => string} w
 */
export function unfinishedOf({ at, doing, lines, typed }, w) {
  const line = lines.find(one => one.id === at);
  if (line) return fill(w(doing === "edit" ? "UnsavedEdit" : "UnsavedReject"), line.specimen);
  return typed.trim() === "" ? "" : fill(w("UnsavedNumber"), typed.trim());
}

/** An address is no longer than servers and browsers take. */
const MAX_ADDRESS = 4000;

/**
 * Where the labels of some requests are; those of the whole batch where that would be too long.
 * @param {string} bench
 * @param {string[]} requests
 */
export function labelsAt(bench, requests) {
  const all = `benches/${encodeURIComponent(bench)}/labels`;
  const these = `${all}?only=${encodeURIComponent(requests.join("\n"))}`;
  return these.length <= MAX_ADDRESS ? these : all;
}

/**
 * @param {HTMLElement} button
 * @param {boolean} pressed
 */
function press(button, pressed) {
  button.setAttribute("aria-pressed", String(pressed));
}

/**
 * @param {Rack} rack
 * @param {RackView} view
 */
function build(rack, view) {
  const { w } = rack;
  const button = (/** @type {string} */ name, /** @type {string} */ text, /** @type {() => void} */ act) =>
    el("button", { type: "button", className: `rack-button ${name}`, onclick: act }, text);
  const title = el("h2", { id: "rack-title", tabIndex: -1 }, w("Title"));
  const said = el("p", { className: "rack-said", role: "status" });
  const line = el("p", { className: "rack-line", role: "status" });
  const tiles = el("div", { className: "rack-tiles", role: "group", "aria-labelledby": "rack-for" });
  const next = el("p", { className: "rack-next", "aria-live": "polite" });
  const lots = el("div", { className: "rack-lots" });
  const urgent = button("rack-switch rack-urgent", w("UrgentNext"), () => {
    rack.list.switchUrgent();
    view.render();
  });
  const out = button("rack-switch rack-out", w("OutNow"), () => rack.out());
  const input = /** @type {HTMLInputElement} */ (el("input", {
    type: "text", id: "rack-number", autocomplete: "off", autocapitalize: "none", spellcheck: false,
    enterKeyHint: "done",
  }));
  input.addEventListener("input", () => rack.hush());
  const camera = el("div", { className: "rack-camera", hidden: true });
  const type = /** @type {HTMLFormElement} */ (el(
    "form",
    { className: "rack-type" },
    el("label", { htmlFor: "rack-number" }, w("ScanOrType")),
    input,
    el("button", { type: "submit", className: "rack-button" }, w("PutOn")),
    button("rack-camera-open", w("Camera"), () => void view.film()),
    button("rack-paste-open", w("Paste"), () => view.paste(true)),
  ));
  type.addEventListener("submit", event => {
    event.preventDefault();
    // Taken and cleared before anything else can be typed.
    const text = input.value;
    input.value = "";
    rack.take(text);
  });
  const paste = el("div", { className: "rack-paste-place", hidden: true });
  const count = el("h3", { className: "rack-count" });
  const way = el("p", { className: "rack-way", role: "status", hidden: true });
  const rows = el("ol", { className: "rack-rows", "aria-label": w("List") });
  const add = button("rack-add", "", () => rack.addAll());
  // In a tab of its own: the bench stays where it is.
  const labels = el("a", { className: "rack-button rack-labels", target: "_blank", rel: "noopener", hidden: true });
  const undo = button("rack-undo", w("Undo"), () => rack.undo());
  const dialog = /** @type {HTMLDialogElement} */ (el(
    "dialog",
    { className: "rack", "aria-labelledby": "rack-title" },
    el(
      "div",
      { className: "rack-body" },
      el("header", { className: "rack-head" }, title, button("rack-close", w("Close"), () => view.close())),
      el("h3", { id: "rack-for" }, w("For")),
      tiles,
      next,
      lots,
      el("div", { className: "rack-switches" }, urgent, out),
      type,
      camera,
      paste,
      count,
      rows,
    ),
    el("footer", { className: "rack-foot" }, said, line, way, labels, add, undo),
  ));
  // A scanner that is slower than a hand types into the field by itself, and so does a hand, wherever the focus is.
  dialog.addEventListener("keydown", event => {
    const isTyped = event.target instanceof HTMLElement && event.target.closest("input, select, textarea") !== null;
    const isPrinted = event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.altKey && !event.metaKey;
    if (!isTyped && isPrinted && !type.hidden) input.focus();
    if (event.target === input && event.key === "Tab" && input.value !== "") {
      event.preventDefault();
      type.requestSubmit();
    }
  });
  dialog.addEventListener("cancel", event => {
    event.preventDefault();
    view.close();
  });
  dialog.addEventListener("keydown", event => {
    if (event.key === "Escape" && !event.defaultPrevented) view.close();
  });
  return {
    dialog, title, said, line, tiles, next, lots, urgent, out, input, camera, type, paste, count, way, rows, labels,
    add, undo,
  };
}
