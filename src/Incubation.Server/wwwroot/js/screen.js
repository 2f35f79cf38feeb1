// What a screen is: its layout, and that it stays awake.

const WIDE_FROM = 1100;
const PORTRAIT_FROM = 700;

/** The layout of the lanes for this screen. The widths are those of the stylesheet. */
export function layoutOf() {
  return innerWidth >= WIDE_FROM ? "wide" : innerWidth >= PORTRAIT_FROM ? "portrait" : "narrow";
}

/** Asks that the screen is not dimmed while its page is shown; a browser may refuse. Returns what ends it. */
export function keepAwake() {
  /** @type {WakeLockSentinel|null} */
  let lock = null;
  const ask = async () => {
    if (document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
    lock = await navigator.wakeLock.request("screen").catch(() => null);
  };
  addEventListener("visibilitychange", ask);
  void ask();
  return () => {
    removeEventListener("visibilitychange", ask);
    void lock?.release();
  };
}
