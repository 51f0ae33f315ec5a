// The call sheet: how a call is written, and the CSV that `waterjacket grade` reads.

/** A call read as `grade` reads it, or what is wrong with it; an empty one is neither. */
export function readCylinders(text, order) {
  const call = text.trim();
  const word = call.toLowerCase();
  if (word === "") return { call: "" };
  if (word === "none" || word === "unsure") return { call: word };
  const forms = "write a cylinder such as 3, 2+5 if both leak, 2|5 if it is one of them, none or unsure";
  if (call.includes("+") && call.includes("|")) return { wrong: `It mixes + and |: ${forms}.` };
  const by = call.includes("|") ? "|" : "+";
  const parts = call.split(by).map((part) => part.trim());
  if (!parts.every((part) => /^\d{1,3}$/.test(part))) return { wrong: `This is not a call: ${forms}.` };
  const cylinders = parts.map(Number);
  const missing = cylinders.find((c) => !order.includes(c));
  if (missing !== undefined) {
    return { wrong: `The engine has no cylinder ${missing}: it has 1 to ${order.length}.` };
  }
  if (new Set(cylinders).size < cylinders.length) return { wrong: "It names a cylinder twice." };
  return { call: cylinders.sort((a, b) => a - b).join(by) };
}

/** A confidence such as 0.8, 0,8 or 80%, as `grade` reads it; an empty one is left out. */
export function readConfidence(text) {
  const written = text.trim();
  if (written === "") return { confidence: "" };
  const percent = written.endsWith("%");
  const number = (percent ? written.slice(0, -1) : written).trim().replace(",", ".");
  const value = /^(\d+\.?\d*|\.\d+)$/.test(number) ? Number(number) : NaN;
  if (value >= 0 && value <= (percent ? 100 : 1)) return { confidence: percent ? `${value}%` : `${value}` };
  if (!percent && value > 1 && value <= 100) {
    return { wrong: `Write ${value}% or ${value / 100} if that is meant.` };
  }
  return { wrong: "Write a number from 0 to 1 or a percentage, such as 0.8 or 80%." };
}

/** A cell of a CSV file (RFC 4180). */
function cell(text) {
  return /[",;\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** The sheet of all calls made, in the order of the captures. */
export function sheetText(calls, pack) {
  const columns = ["capture", "cylinders", "confidence", "note", ...(pack ? ["pack"] : [])];
  const rows = calls.map((c) => [c.capture, c.cylinders, c.confidence, c.note, ...(pack ? [pack] : [])]);
  return [columns, ...rows].map((row) => `${row.map(cell).join(",")}\n`).join("");
}

/** A file name for the sheet: the student's own name, in letters that every disk takes. */
export function sheetName(student) {
  const name = student.trim().replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-+|-+$/g, "").slice(0, 60);
  return `${name || "calls"}.csv`;
}
