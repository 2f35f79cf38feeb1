// Finds the screen that a page holds and runs it; a page may be exchanged for another without being loaded anew.

/** @import { MountedScreen } from "./context.js" */

/** @type {{element: Element, screen: MountedScreen|null}|null} */
let mounted = null;

/** Runs the page's screen, and ends the one of the page before. */
export function mountScreens() {
  const element = document.querySelector("[data-screen]");
  if (element === (mounted?.element ?? null)) return;
  mounted?.screen?.end();
  mounted = null;
  if (!(element instanceof HTMLElement)) return;
  const here = { element, screen: null };
  mounted = here;
  void load(element).then(screen => {
    if (mounted === here) mounted.screen = screen;
    else screen.end();
  });
}

/** Whether the page's screen shows an alarm. */
export function alarmStands() {
  return mounted?.screen?.alarmStands() ?? false;
}

/** @param {HTMLElement} element */
async function load(element) {
  switch (element.dataset.screen) {
    case "wall": return (await import("./wall.js")).mount(element);
    case "play": return (await import("./play.js")).mount(element);
    case "scanner": return (await import("./scanner.js")).mount(element);
    default: return (await import("./bench.js")).mount(element);
  }
}
