// The frames of LIS01-A2, written a second time from the standard's text, in another language: held against ours by
// FramingAgreementTest. Reads one JSON object a line, answers each with one.
//   { "op": "encode", "records": [hex], "sizes": [n] }  a message's records, and how much text each next frame may have
//     -> { "frames": [hex] }
//   { "op": "decode", "frames": [hex] }                  each of them alone, numbered from 1
//     -> { "taken": [bool], "text": hex }
//   { "op": "sum", "text": hex }                         from the number to ETX or ETB
//     -> { "sum": "96" }
import { createInterface } from "node:readline";

const STX = 2, ETX = 3, ETB = 23, CR = 13, LF = 10;
// 6.6, restricted message characters: SOH, STX, ETX, EOT, ENQ, ACK, DLE, NAK, SYN, ETB, LF, DC1 to DC4.
const RESTRICTED = new Set([1, 2, 3, 4, 5, 6, 16, 21, 22, 23, 10, 17, 18, 19, 20]);
const LONGEST = 63_993;

const sum = bytes => bytes.reduce((total, byte) => total + byte, 0) % 256;
const digits = number => (number < 16 ? "0" : "") + number.toString(16).toUpperCase();
const bytesOf = hex => [...Buffer.from(hex, "hex")];
const hexOf = bytes => Buffer.from(bytes).toString("hex");

function frame(count, text, last) {
  const summed = [48 + (count % 8), ...text, last ? ETX : ETB];
  return [STX, ...summed, ...Buffer.from(digits(sum(summed)), "ascii"), CR, LF];
}

function encode(records, sizes) {
  const frames = [];
  let turn = 0;
  for (const record of records) {
    let rest = record;
    do {
      const size = sizes[turn++ % sizes.length];
      const text = rest.slice(0, size);
      rest = rest.slice(size);
      frames.push(frame(frames.length + 1, text, rest.length === 0));
    } while (rest.length > 0);
  }
  return frames;
}

function read(bytes) {
  if (bytes.length < 7 || bytes[0] !== STX || bytes.at(-2) !== CR || bytes.at(-1) !== LF)
    return null;
  const summed = bytes.slice(1, -4);
  const text = summed.slice(1, -1);
  const given = String.fromCharCode(...bytes.slice(-4, -2));
  const end = summed.at(-1);
  if (summed[0] < 48 || summed[0] > 55 || (end !== ETX && end !== ETB) || text.length > LONGEST)
    return null;
  if (text.some(byte => RESTRICTED.has(byte)) || given.toUpperCase() !== digits(sum(summed)))
    return null;
  return { number: summed[0] - 48, text };
}

function decode(frames) {
  const taken = [];
  const text = [];
  let expected = 1;
  for (const bytes of frames) {
    const found = read(bytes);
    taken.push(found !== null);
    if (found !== null && found.number === expected) {
      text.push(...found.text);
      expected = (expected + 1) % 8;
    }
  }
  return { taken, text: hexOf(text) };
}

const answers = {
  encode: asked => ({ frames: encode(asked.records.map(bytesOf), asked.sizes).map(hexOf) }),
  decode: asked => decode(asked.frames.map(bytesOf)),
  sum: asked => ({ sum: digits(sum(bytesOf(asked.text))) }),
};

for await (const line of createInterface({ input: process.stdin })) {
  const asked = JSON.parse(line);
  process.stdout.write(JSON.stringify(answers[asked.op](asked)) + "\n");
}
