import assert from "node:assert/strict";
import { test } from "node:test";
import { readCylinders, readConfidence, sheetName, sheetText } from "../../src/page/web/sheet.js";

const ORDER = [1, 5, 3, 6, 2, 4];

test("a call is read as the program reads it", () => {
  for (const [text, call] of [["3", "3"], [" 2 + 5 ", "2+5"], ["5+2", "2+5"], ["5|2", "2|5"], ["None", "none"], ["UNSURE ", "unsure"], ["", ""]]) {
    assert.deepEqual(readCylinders(text, ORDER), { call }, text);
  }
  for (const text of ["7", "0", "2+2", "2/5", "2+5|3", "2+", "|3", "3.0", "-3", "three", "maybe", "2 5"]) {
    const { wrong } = readCylinders(text, ORDER);
    assert.ok(wrong?.endsWith("."), `${text}: ${wrong}`);
  }
});

test("a confidence is read as the program reads it", () => {
  for (const [text, confidence] of [["0.8", "0.8"], ["0,8", "0.8"], ["80%", "80%"], ["80 %", "80%"], ["1", "1"], [".5", "0.5"], ["", ""]]) {
    assert.deepEqual(readConfidence(text), { confidence }, text);
  }
  assert.match(readConfidence("80").wrong, /80% or 0\.8/);
  for (const text of ["1.5%x", "-1", "120%", "high", "101", "%"]) assert.ok(readConfidence(text).wrong, text);
});

test("the sheet has the columns of a call sheet, and quotes what would break it", () => {
  const calls = [{ capture: "item-01", cylinders: "2|5", confidence: "80%", note: 'a "step", then; none' }, { capture: "item-02", cylinders: "none", confidence: "", note: "" }];
  assert.equal(
    sheetText(calls, "k7"),
    'capture,cylinders,confidence,note,pack\nitem-01,2|5,80%,"a ""step"", then; none",k7\nitem-02,none,,,k7\n',
  );
  assert.equal(sheetText(calls.slice(1), null), "capture,cylinders,confidence,note\nitem-02,none,,\n");
});

test("a file is called after its student, in letters that every disk takes", () => {
  assert.equal(sheetName("Ann of the early shift"), "Ann-of-the-early-shift.csv");
  assert.equal(sheetName(" ../../etc/passwd "), "etc-passwd.csv");
  assert.equal(sheetName("J\u00f6rg \u00c5s"), "J\u00f6rg-\u00c5s.csv");
  assert.equal(sheetName("   "), "calls.csv");
});
