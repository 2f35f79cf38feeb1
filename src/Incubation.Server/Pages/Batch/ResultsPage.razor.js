// The rows of results: a scanner ends the identity with Enter, and what is typed next belongs to the value at once, not
// after an answer of the server.

/** @param {HTMLElement} page */
export function attach(page) {
  page.addEventListener("keydown", event => {
    const shown = event.target;
    if (event.key !== "Enter" || !(shown instanceof HTMLInputElement) || !shown.id.startsWith("shown-")) return;
    const value = shown.form?.querySelector("input[id^='value-']");
    if (shown.value.trim() === "" || !(value instanceof HTMLInputElement) || value.value.trim() !== "") return;
    event.preventDefault();
    value.focus();
  });
}
