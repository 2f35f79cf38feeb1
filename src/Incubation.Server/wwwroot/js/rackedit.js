// A tube on a rack's list, changed: its number, what it is for, with which lot, whether it goes first, and its times.

/** @import { Rack } from "./rack.js" */
/** @import { RackLine } from "./racklist.js" */
import { el } from "./dom.js";
import { fill } from "./format.js";

/**
 * What a form says that is not so yet.
 * @param {RackLine} line
 * @param {Partial<RackLine>} said
 * @returns {Partial<RackLine>}
 */
export function changesOf(line, said) {
  const isOther = (/** @type {[string, unknown]} */ [name, value]) =>
    JSON.stringify(value) !== JSON.stringify(/** @type {any} */ (line)[name]);
  return Object.fromEntries(Object.entries(said).filter(isOther));
}

/** @param {Rack} rack @param {RackLine} line */
export function editForm(rack, line) {
  const { w, view } = rack;
  const field = (/** @type {string} */ name, /** @type {string} */ label, /** @type {string} */ type) => {
    const input = el("input", {
      type, name, id: `rack-${name}`, autocomplete: "off",
      value: /** @type {any} */ (line)[name] ?? "",
    });
    return el("p", {}, el("label", { htmlFor: `rack-${name}` }, label), input);
  };
  const choice = choices(rack, line);
  const form = /** @type {HTMLFormElement} */ (el(
    "form",
    { className: "rack-form" },
    field("specimen", w("Number"), "text"),
    choice.assays,
    choice.lots,
    field("identifier", w("Identifier"), "text"),
    choice.type,
    field("collected", w("Collected"), "datetime-local"),
    // What is due on another day has its date.
    field("due", w("Due"), line.due?.includes("T") ? "datetime-local" : "time"),
    el("p", { className: "rack-form-acts" },
      el("button", { type: "submit", className: "rack-button rack-save" }, w("Save")),
      el("button", { type: "button", className: "rack-button", onclick: () => view.work(null) }, w("Cancel"))),
  ));
  form.addEventListener("submit", event => {
    event.preventDefault();
    /** @type {Record<string, string|undefined>} */
    const typed = {};
    for (const [name, value] of new FormData(form)) typed[name] = String(value).trim() || undefined;
    view.at = null;
    const changes = changesOf(line, { ...typed, specimen: typed.specimen ?? line.specimen, ...choice.said() });
    if (Object.keys(changes).length > 0) rack.list.edit(line.id, changes);
    rack.changed();
  });
  return form;
}

/**
 * What a tube is for, as buttons, and what follows from that: the types of specimen, and the lots to choose from.
 * @param {Rack} rack
 * @param {RackLine} line
 */
function choices(rack, line) {
  const { w, sheet } = rack;
  /** @type {{assays: string[], urgent: boolean, lots: Record<string, string>}} */
  const now = { assays: [...line.assays], urgent: line.urgent, lots: { ...line.lots } };
  const known = sheet?.assays ?? [];
  const group = (/** @type {string} */ label, /** @type {HTMLElement[]} */ buttons) => el("div",
    { className: "rack-choice", role: "group", "aria-label": label }, el("p", {}, label), ...buttons);
  const button = (/** @type {string} */ text, /** @type {boolean} */ isOn, /** @type {() => void} */ act) =>
    el("button", {
      type: "button", className: "rack-button rack-switch", "aria-pressed": String(isOn),
      onclick: () => {
        act();
        draw();
      },
    }, text);
  const type = el("select", { name: "specimenType", id: "rack-specimenType" });
  const typePart = el("p", {}, el("label", { htmlFor: "rack-specimenType" }, w("Type")), type);
  const [assays, lots] = [el("div", { className: "rack-choices" }), el("div", { className: "rack-choices" })];
  const toggle = (/** @type {string} */ code) => {
    now.assays = now.assays.includes(code) ? now.assays.filter(one => one !== code) : [...now.assays, code];
  };
  let isDrawn = false;
  const draw = () => {
    const focus = [...assays.querySelectorAll("button"), ...lots.querySelectorAll("button")]
      .find(one => one === document.activeElement)?.textContent;
    const gone = now.assays.filter(code => !known.some(assay => assay.code === code));
    assays.replaceChildren(group(w("EditFor"), [
      ...[...known.map(({ code, name }) => ({ code, name })), ...gone.map(code => ({ code, name: code }))]
        .map(({ code, name }) => button(name, now.assays.includes(code), () => toggle(code))),
    ]), el("div", { className: "rack-choice" }, button(w("Urgent"), now.urgent, () => (now.urgent = !now.urgent))));
    const chosen = known.filter(assay => now.assays.includes(assay.code));
    lots.replaceChildren(...chosen.filter(assay => assay.lots.length > 1).map(assay => {
      const lot = now.lots[assay.code] ?? rack.list.lots[assay.code] ?? assay.lots[0]?.lot;
      return group(fill(w("LotChosen"), assay.name), assay.lots.map(one =>
        button(one.text, one.lot === lot, () => (now.lots[assay.code] = one.lot))));
    }));
    const mine = line.specimenType ? [line.specimenType] : [];
    const types = [...new Set([...chosen.flatMap(assay => assay.types), ...mine])];
    const value = isDrawn ? /** @type {HTMLSelectElement} */ (type).value : line.specimenType;
    type.replaceChildren(el("option", { value: "" }, w("TypeAny")),
      ...types.map(one => el("option", { value: one, selected: one === value }, one)));
    typePart.hidden = types.length === 0;
    isDrawn = true;
    [...assays.querySelectorAll("button"), ...lots.querySelectorAll("button")]
      .find(one => one.textContent === focus)?.focus();
  };
  draw();
  return {
    type: typePart, assays, lots,
    /** @returns {Partial<RackLine>} */
    said: () => ({
      assays: now.assays, urgent: now.urgent,
      ...(Object.keys(now.lots).length > 0 ? { lots: now.lots } : {}),
    }),
  };
}
