// The page's words come with the page, so that a translation needs no code.

/**
 * Reads the words that a page carries in its block of data.
 * @param {ParentNode} root
 * @returns {(key: string) => string} Throws where a word is missing: a fault of the page, found by its first test.
 */
export function readWords(root) {
  const block = root.querySelector("script.screen-words");
  /** @type {Record<string, string>} */
  const words = JSON.parse(block?.textContent ?? "{}");
  return key => {
    if (!(key in words)) throw new Error(`The page has no word "${key}".`);
    return words[key];
  };
}
