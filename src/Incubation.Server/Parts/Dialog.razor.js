// @ts-check

/** Shows a dialog as a modal one. @param {HTMLDialogElement} dialog */
export function show(dialog) {
  if (!dialog.open) dialog.showModal();
}

/** Closes it. @param {HTMLDialogElement} dialog */
export function close(dialog) {
  if (dialog.open) dialog.close();
}
