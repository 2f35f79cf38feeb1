// The form of snapshots that these modules read. A page that gets another goes on alone with what it has, and is loaded
// again once for that form: when nothing waits to be sent and no high alarm stands. Pure but for the storage that it is
// given.

import { standing } from "./soundplan.js";

/** @import { AlarmSnapshot } from "./types.js" */

/** The same number as the server's; snapshots from before there was one have this form. */
export const FORM = 1;

const KEY = "incubation.loaded-for-form";

/** @param {{form?: number}} snapshot */
export function formOf(snapshot) {
  return snapshot.form ?? FORM;
}

/** Whether these modules can read a snapshot. @param {{form?: number}} snapshot */
export function isReadable(snapshot) {
  return formOf(snapshot) === FORM;
}

/**
 * Whether these modules can read what the server sends now; where they can, it is forgotten that the page was loaded
 * again.
 * @param {{form?: number}} snapshot
 * @param {Pick<Storage, "removeItem">} storage
 */
export function reads(snapshot, storage) {
  const readable = isReadable(snapshot);
  if (readable) storage.removeItem(KEY);
  return readable;
}

/**
 * Whether the page is to be loaded again, now, for snapshots of a form that it cannot read. That it is, is remembered:
 * where the page that comes still cannot read that form, it stays as it is.
 * @param {number} form
 * @param {{waiting: number, alarms: AlarmSnapshot[], now: number, busy: boolean}} page What waits to be sent, the
 * alarms as the page has them, the server's time, and whether somebody is answering a question.
 * @param {Pick<Storage, "getItem"|"setItem">} storage Lives as long as the page's tab.
 */
export function loadsAgain(form, { waiting, alarms, now, busy }, storage) {
  if (waiting > 0 || busy || standing(alarms, now).some(alarm => alarm.priority === "high")) return false;
  if (storage.getItem(KEY) === String(form)) return false;
  storage.setItem(KEY, String(form));
  return true;
}
