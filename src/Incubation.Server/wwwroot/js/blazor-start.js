// Starts Blazor by hand, so that its line is tried for ever: the usual start gives up after some minutes and covers the
// page. The screens do not wait for it.

import { holdsNothingToLose } from "./keep.js";
import { prepareForAlone } from "./offline.js";
import { alarmStands, mountScreens } from "./screens.js";

const RETRY_MS = 2000;
const RELOAD_CHECK_MS = 1000;
/** A form that is sent has brought another page within this, or has failed. */
const SENDING_MS = 10_000;

const banner = document.getElementById("connection-banner");
const text = banner?.querySelector(".connection-banner-text");
const reload = /** @type {HTMLButtonElement|null} */ (banner?.querySelector(".connection-banner-reload") ?? null);
reload?.addEventListener("click", () => location.reload());

/** @param {"lost"|"rejected"|null} what */
function say(what) {
  // The screens have words of their own for a lost line; a banner of the page's would only cover them.
  const onScreen = document.querySelector("[data-screen]") !== null;
  if (!banner || !text) return;
  banner.hidden = what === null || (onScreen && what === "lost");
  text.textContent = what ? (banner.dataset[what] ?? "") : "";
  if (reload) reload.hidden = what !== "rejected";
}

/** Until when the page is on its way to another: whoever signs out ends its line, and is not to come back to it. */
let sendingUntil = 0;
document.addEventListener("submit", event => {
  if (!event.defaultPrevented) sendingUntil = performance.now() + SENDING_MS;
});

/** The server asks for the page anew, as somebody else is in front of it, or nobody any more. */
Object.assign(globalThis, {
  loadPageAgain: () => {
    setTimeout(() => location.reload(), Math.max(0, sendingUntil - performance.now()));
  },
});

/** The islands of a page whose server has forgotten it are dead until it is loaded again: not while an alarm sounds. */
function reloadWhenQuiet() {
  say("rejected");
  const waiting = setInterval(async () => {
    if (alarmStands() || document.querySelector("dialog[open]") || performance.now() < sendingUntil) return;
    const answers = await fetch("api/v1/time", { cache: "no-store" }).then(a => a.ok, () => false);
    if (!answers || performance.now() < sendingUntil) return;
    clearInterval(waiting);
    location.reload();
  }, RELOAD_CHECK_MS);
}

// Pages have no script of their own: a button that prints says so.
document.addEventListener("click", event => {
  if (event.target instanceof Element && event.target.closest("[data-print]")) print();
});

let trying = false;

/** Tries until the line is back, or until the server says that it no longer knows this page. */
async function tryForEver() {
  if (trying) return;
  trying = true;
  say("lost");
  while (trying) {
    try {
      // True: back again. False: the server answers, but has forgotten the page.
      const back = await Blazor.reconnect();
      trying = false;
      if (back) say(null);
      else reloadWhenQuiet();
    } catch {
      await new Promise(done => setTimeout(done, RETRY_MS));
    }
  }
}

/** Pages that are about passkeys say so; only they need that module. */
function preparePasskeys() {
  if (document.querySelector("[data-passkey]")) void import("./passkeys.js").then(module => module.mountPasskeys());
}

/** Pages on which tubes are taken in say so; only they need that module. */
function prepareRack() {
  if (document.querySelector("[data-rack]")) void import("./rackopen.js").then(module => module.mountRack());
}

/** The page on which orders are taken from a list says so; only it needs that module. */
function prepareOrderFile() {
  if (document.querySelector("[data-order-file]"))
    void import("./orderfile.js").then(module => module.mountOrderFile());
}

/** Pages on which nothing is scanned say so; only they need that module. */
function prepareNoScan() {
  if (document.querySelector("[data-no-scan]")) void import("./noscan.js").then(module => module.mountNoScan());
}

// Who signs out leaves nothing in this browser's storage, where nothing would be lost by it.
document.addEventListener("submit", event => {
  const wipe = event.target instanceof HTMLFormElement ? event.target.elements.namedItem("wipe") : null;
  if (wipe instanceof HTMLInputElement) wipe.value = holdsNothingToLose() ? "storage" : "";
});

/**
 * Whether links exchange the page or load it. While the line begins, the server would render the next page with the
 * address of the last: it hears of an address only once its line stands.
 * @param {boolean} stands
 */
function exchangePages(stands) {
  if (stands) delete document.body.dataset.enhanceNav;
  else document.body.dataset.enhanceNav = "false";
}

mountScreens();
prepareForAlone();
preparePasskeys();
prepareRack();
prepareOrderFile();
prepareNoScan();

if (typeof Blazor !== "undefined") {
  exchangePages(false);
  await Blazor.start({
    circuit: {
      circuitHandlers: [{ onCircuitOpened: () => exchangePages(true), onCircuitClosed: () => exchangePages(false) }],
      reconnectionHandler: {
        onConnectionDown: () => void tryForEver(),
        onConnectionUp: () => {
          trying = false;
          say(null);
        },
      },
    },
  });
  // Pages are exchanged without being loaded: what a load would do is done again.
  Blazor.addEventListener("enhancedload", () => {
    mountScreens();
    prepareForAlone();
    preparePasskeys();
    prepareRack();
    prepareOrderFile();
    prepareNoScan();
  });
}
