// Asks the authenticator for a new passkey, or for a sign-in by one. What it answers goes to the server, which checks
// it.

/**
 * @typedef {object} Answer
 * @property {boolean} done
 * @property {string|null} sentence
 * @property {string|null} ticket
 * @property {string|null} options
 * @property {string|null} to
 */

const API = "api/v1/passkeys/";
const mounted = new WeakSet();

/** Makes the page's passkey button or form work; where the browser has no passkeys, says so. */
export function mountPasskeys() {
  const root = document.querySelector("[data-passkey]");
  if (!(root instanceof HTMLElement) || mounted.has(root)) return;
  mounted.add(root);
  const isThere = "PublicKeyCredential" in window && "parseRequestOptionsFromJSON" in PublicKeyCredential;
  if (root instanceof HTMLFormElement) {
    if (!isThere) say(root, root.dataset.none ?? "");
    root.addEventListener("submit", event => {
      event.preventDefault();
      if (isThere) void work(root, () => add(root));
    });
    return;
  }
  const button = root.querySelector("button");
  if (!button || !isThere) return;
  button.hidden = false;
  button.addEventListener("click", () => void work(root, () => signIn(root)));
}

/** @param {HTMLFormElement} form */
async function add(form) {
  const filledIn = new FormData(form);
  const asked = await post("new/ask", { name: filledIn.get("name"), password: filledIn.get("password") });
  if (!asked.done || !asked.options) return say(form, asked.sentence ?? "");
  const credential = await navigator.credentials.create({
    publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(JSON.parse(asked.options)),
  });
  const answer = await post("new", { ticket: asked.ticket, credential: JSON.stringify(credential) });
  if (answer.done) location.assign("me/passkeys?added=1");
  else say(form, answer.sentence ?? "");
}

/** @param {HTMLElement} root */
async function signIn(root) {
  const asked = await post("sign-in/ask", {});
  if (!asked.done || !asked.options) return say(root, asked.sentence ?? "");
  const credential = await navigator.credentials.get({
    publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(JSON.parse(asked.options)),
  });
  const answer = await post("sign-in", {
    ticket: asked.ticket,
    credential: JSON.stringify(credential),
    to: root.dataset.to ?? null,
  });
  if (answer.done) location.assign(answer.to ?? "");
  else say(root, answer.sentence ?? "");
}

/**
 * Does it once at a time; what the person or the authenticator broke off is said in the page's own words.
 * @param {HTMLElement} root
 * @param {() => Promise<void>} what
 */
async function work(root, what) {
  const button = root.querySelector("button");
  if (!button || button.getAttribute("aria-disabled") === "true") return;
  // Not disabled: the keyboard would lose its place.
  button.setAttribute("aria-disabled", "true");
  say(root, "");
  try {
    await what();
  } catch {
    say(root, root.dataset.cancelled ?? "");
  } finally {
    button.removeAttribute("aria-disabled");
  }
}

/**
 * @param {string} address
 * @param {object} body
 * @returns {Promise<Answer>}
 */
async function post(address, body) {
  const answer = await fetch(API + address, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
  });
  const told = await answer.json();
  return answer.ok ? told : { done: false, sentence: told.detail ?? null, ticket: null, options: null, to: null };
}

/**
 * @param {HTMLElement} root
 * @param {string} sentence
 */
function say(root, sentence) {
  const fault = root.querySelector("[data-passkey-fault]");
  if (!(fault instanceof HTMLElement)) return;
  fault.textContent = sentence;
  fault.hidden = sentence === "";
  // The list above forgets what it said was done.
  if (sentence !== "") document.querySelector("[data-passkey-list]")?.dispatchEvent(
    new Event("invalid", { bubbles: true }));
}
