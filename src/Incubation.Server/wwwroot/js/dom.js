// Small helpers for what the modules draw themselves.

/**
 * An element with properties and children.
 * @param {string} tag
 * @param {Record<string, unknown>} [props] Names with a hyphen become attributes; the rest are properties.
 * @param {...(Node|string)} children
 * @returns {HTMLElement}
 */
export function el(tag, props = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (name.includes("-") || name === "role" || name === "form") element.setAttribute(name, String(value));
    else /** @type {any} */ (element)[name] = value;
  }
  element.append(...children);
  return element;
}

/**
 * Sets a text only where it differs: what is read aloud or selected stays.
 * @param {Element} element
 * @param {string} text
 */
export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * @param {HTMLElement} element
 * @param {boolean} shown
 */
export function show(element, shown) {
  if (element.hidden === shown) element.hidden = !shown;
}

/**
 * @param {ParentNode} root
 * @param {string} selector
 * @returns {HTMLElement}
 */
export function find(root, selector) {
  const element = root.querySelector(selector);
  if (!(element instanceof HTMLElement)) throw new Error(`The page has no ${selector}.`);
  return element;
}

const SHAPES = {
  high: "M8 2h8l6 6v8l-6 6H8l-6-6V8z",
  medium: "M12 2l11 20H1z",
  low: "M12 2a10 10 0 1 0 0 20a10 10 0 1 0 0-20z",
};

/**
 * The shape of an alarm's priority, with an exclamation mark: octagon, triangle, disc.
 * @param {"low"|"medium"|"high"} priority
 */
export function alarmShape(priority) {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  svg.setAttribute("viewBox", "0 0 24 24");
  const outline = document.createElementNS(space, "path");
  outline.setAttribute("d", SHAPES[priority]);
  outline.setAttribute("class", "shape-body");
  const mark = document.createElementNS(space, "path");
  mark.setAttribute("d", priority === "low" ? "M12 10v7M12 6.5v.5" : "M12 8v7M12 18.5v.5");
  mark.setAttribute("class", "shape-mark");
  svg.append(outline, mark);
  return svg;
}
