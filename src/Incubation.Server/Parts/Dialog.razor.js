// @ts-check

/** Shows a dialog as a modal one. @param {HTMLDialogElement} dialog */
export function show(dialog) {
  if (dialog.open) return;
  dialog.showModal();
  // What is asked is read from its beginning, wherever the focus went.
  dialog.scrollTop = 0;
}

/** Closes it. @param {HTMLDialogElement} dialog */
export function close(dialog) {
  if (dialog.open) dialog.close();
}
