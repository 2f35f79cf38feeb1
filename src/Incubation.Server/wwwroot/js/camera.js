// Codes by the tablet's camera. The library is fetched when somebody wants the camera, and not before.

const LIBRARY = "lib/zxing/zxing-browser.min.js";
/** A code that stays before the camera is one. */
const SAME_FOR_MS = 2500;

/** The codes that kit boxes bear; tubes bear the last three too. */
export const BOX_CODES = ["DATA_MATRIX", "QR_CODE", "CODE_128", "EAN_13", "RSS_14"];
export const TUBE_CODES = ["CODE_128", "CODE_39", "CODABAR", "ITF", "DATA_MATRIX", "QR_CODE"];

/**
 * Shows what the camera sees and tells each code in it.
 * @param {HTMLVideoElement} video
 * @param {string[]} codes Names of the library's formats.
 * @param {boolean} isGs1 Whether separators are wanted.
 * @param {(text: string) => void} found
 * @returns {Promise<{stop(): void}>} Fails where there is no camera or it may not be used.
 */
export async function decode(video, codes, isGs1, found) {
  const zxing = await library();
  // The library's numbers of its hints (DecodeHintType), which its browser file does not export.
  const POSSIBLE_FORMATS = 2;
  const ASSUME_GS1 = 8;
  const hints = new Map(/** @type {[number, unknown][]} */ ([
    [POSSIBLE_FORMATS, codes.map(code => zxing.BarcodeFormat[code])],
    ...(isGs1 ? [[ASSUME_GS1, true]] : []),
  ]));
  const reader = new zxing.BrowserMultiFormatReader(hints);
  return reader.decodeFromConstraints({ video: { facingMode: "environment" } }, video,
    (/** @type {{getText(): string}|undefined} */ result) => result && found(result.getText()));
}

/**
 * One tube after another, until it is ended.
 * @param {HTMLVideoElement} video
 * @param {(text: string) => void} found
 * @param {(why: "CameraNone"|"CameraRefused") => void} failed
 * @returns {Promise<() => void>} Ends it.
 */
export async function film(video, found, failed) {
  if (!navigator.mediaDevices?.getUserMedia) {
    failed("CameraNone");
    return () => {};
  }
  let last = { text: "", at: -Infinity };
  try {
    const controls = await decode(video, TUBE_CODES, false, text => {
      const at = performance.now();
      const isSame = text === last.text && at - last.at < SAME_FOR_MS;
      last = { text, at };
      if (!isSame) found(text);
    });
    return () => controls.stop();
  } catch {
    failed("CameraRefused");
    return () => {};
  }
}

/** @type {Promise<any>|null} */
let loading = null;

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
