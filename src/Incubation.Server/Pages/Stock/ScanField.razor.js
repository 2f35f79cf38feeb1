// The field that scans go into: makes the separator visible that scanners send as a control key, and reads codes by the
// camera.

const LIBRARY = "lib/zxing/zxing-browser.min.js";
/** Shown for the separator (FNC1), which a browser would else swallow or leave invisible. */
const SEPARATOR = "␝";

/** @param {HTMLFormElement} form */
export function attach(form) {
  return new ScanField(form);
}

class ScanField {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.form = form;
    this.input = /** @type {HTMLInputElement} */ (form.querySelector("input"));
    this.says = /** @type {HTMLElement} */ (form.querySelector(".scan-camera-says"));
    this.view = /** @type {HTMLElement} */ (form.querySelector(".scan-camera"));
    /** @type {{stop(): void}|null} */
    this.controls = null;
    this.input.addEventListener("keydown", event => this.#key(event));
    form.querySelector("[data-camera=start]")?.addEventListener("click", () => void this.#start());
    form.querySelector("[data-camera=stop]")?.addEventListener("click", () => this.#stop(""));
  }

  end() {
    this.#stop("");
  }

  /** What was not understood stays to be looked at; the next scan takes its place. */
  again() {
    this.input.focus();
    this.input.select();
  }

  /**
   * A scanner that works as a keyboard sends the separator as Ctrl+].
   * @param {KeyboardEvent} event
   */
  #key(event) {
    if (
      event.key !== "\u001d" &&
      !(event.ctrlKey && !event.altKey && (event.key === "]" || event.code === "BracketRight"))
    )
      return;
    event.preventDefault();
    this.input.setRangeText(SEPARATOR, this.input.selectionStart ?? 0, this.input.selectionEnd ?? 0, "end");
  }

  async #start() {
    if (!navigator.mediaDevices?.getUserMedia) return this.#say("none");
    this.#say("looking");
    this.view.hidden = false;
    try {
      const zxing = await library();
      const reader = new zxing.BrowserMultiFormatReader(hints(zxing));
      this.controls = await reader.decodeFromConstraints(
        { video: { facingMode: "environment" } }, /** @type {HTMLVideoElement} */ (this.view.querySelector("video")),
        (/** @type {{getText(): string}|undefined} */ result) => result && this.#found(result.getText()));
      if (this.view.hidden) this.#stop("");
    } catch {
      this.#stop("refused");
    }
  }

  /** @param {string} text */
  #found(text) {
    if (!this.controls) return;
    this.#stop("");
    this.input.value = text.replaceAll("\u001d", SEPARATOR);
    this.input.dispatchEvent(new Event("change", { bubbles: true }));
    this.form.requestSubmit();
  }

  /** @param {""|"none"|"refused"} why */
  #stop(why) {
    this.controls?.stop();
    this.controls = null;
    this.view.hidden = true;
    this.#say(why);
  }

  /** @param {""|"looking"|"none"|"refused"} what */
  #say(what) {
    this.says.textContent = what ? (this.says.dataset[what] ?? "") : "";
  }
}

/** The codes that kit boxes bear. @param {any} zxing */
function hints(zxing) {
  const { DATA_MATRIX, QR_CODE, CODE_128, EAN_13, RSS_14 } = zxing.BarcodeFormat;
  // The library's numbers of its hints (DecodeHintType), which its browser file does not export.
  const POSSIBLE_FORMATS = 2;
  const ASSUME_GS1 = 8;
  return new Map(
    /** @type {[number, unknown][]} */ ([
      [POSSIBLE_FORMATS, [DATA_MATRIX, QR_CODE, CODE_128, EAN_13, RSS_14]],
      [ASSUME_GS1, true],
    ]),
  );
}

/** @type {Promise<any>|null} */
let loading = null;

/** The library is fetched when somebody wants the camera, and not before. */
function library() {
  loading ??= new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = new URL(LIBRARY, document.baseURI).href;
    script.onload = () => resolve(/** @type {any} */ (globalThis).ZXingBrowser);
    script.onerror = () => {
      loading = null;
      script.remove();
      reject(new Error("The library did not come."));
    };
    document.head.append(script);
  });
  return loading;
}
