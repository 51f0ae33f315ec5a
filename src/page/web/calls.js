// The answer: a call for each capture, kept while the page is open and saved as a call sheet.

import { byId, button, make } from "./element.js";
import { readCylinders, readConfidence, sheetName, sheetText } from "./sheet.js";

const FORMS = "3 \u00b7 2+5 (both leak) \u00b7 2|5 (one of them) \u00b7 none \u00b7 unsure";

/** A field with its label and the place where it says what is wrong. */
function field(id, words, hint, onInput) {
  const wrong = make("p", { className: "wrong", id: `${id}-wrong`, role: "status" });
  const input = make("input", { id, type: "text", autocomplete: "off", spellcheck: false, placeholder: hint, "aria-describedby": `${id}-wrong` });
  input.addEventListener("input", () => onInput(input.value));
  return { input, wrong, label: make("label", { for: id }, words, input) };
}

/** The form beside the traces. */
export class Calls {
  constructor(desk, data) {
    this.written = data.captures.map(() => ({ cylinders: "", confidence: "", note: "" }));
    Object.assign(this, { desk, data, saved: JSON.stringify(this.written), student: "" });
    addEventListener("beforeunload", (event) => {
      if (this.isUnsaved) event.preventDefault();
    });
    this.build();
  }

  /** Index of the capture, or 0 where one call stands for all. */
  get at() {
    return this.data.answer === "job" ? 0 : this.desk.at;
  }

  /** The call of a capture as it will stand in the sheet, or what is wrong with it. */
  read(i) {
    const { cylinders, confidence, note } = this.written[i];
    const call = readCylinders(cylinders, this.data.captures[i].order);
    const sure = readConfidence(confidence);
    return { call, sure, note: note.trim(), isEmpty: call.call === "" && sure.confidence === "" && note.trim() === "" };
  }

  get sheet() {
    const calls = this.written.map((_, i) => ({ i, ...this.read(i) })).filter((c) => c.call.call);
    const rows = calls.map((c) => ({ capture: this.data.captures[c.i].name, cylinders: c.call.call, confidence: c.sure.confidence ?? "", note: c.note }));
    return rows.length > 0 ? sheetText(rows, this.data.pack) : "";
  }

  get isUnsaved() {
    return this.data.answer === "sheet" && JSON.stringify(this.written) !== this.saved;
  }

  build() {
    const change = (name) => (value) => {
      this.written[this.at][name] = value;
      this.show();
    };
    this.fields = {
      cylinders: field("cylinders", "Cylinders", "3, 2+5, 2|5, none or unsure", change("cylinders")),
      confidence: field("confidence", "Confidence that it is right", "80%", change("confidence")),
      note: field("note", "Note", "what you saw", change("note")),
    };
    const { cylinders, confidence, note } = this.fields;
    this.head = make("h3");
    this.status = make("p", { className: "soft", role: "status", id: "kept" });
    const form = make("form", {}, cylinders.label, cylinders.wrong, confidence.label, confidence.wrong);
    form.addEventListener("submit", (event) => event.preventDefault());
    const parts = [this.head, make("p", { className: "soft" }, FORMS), form];
    if (this.data.answer === "job") {
      this.command = make("code", { className: "command" });
      parts.push(make("p", {}, "The call is one for the vehicle, and it stands. When you are sure, type"), this.command, this.status);
    } else {
      form.append(note.label);
      const student = field("student", "Your name, for the file", "calls", (value) => { this.student = value; });
      this.list = make("tbody");
      const heads = ["Capture", "Call", "Confidence"].map((words) => make("th", { scope: "col" }, words));
      const table = make("table", {}, make("thead", {}, make("tr", {}, ...heads)), this.list);
      const scroll = make("div", { className: "list", tabIndex: 0, role: "region", "aria-label": "All calls" }, table);
      form.append(student.label);
      parts.push(make("div", { className: "row" }, button("Save the call sheet", () => this.save(), { className: "main", id: "save" })), this.status, scroll);
    }
    byId("answer").replaceChildren(...parts);
  }

  /** A capture was turned to: its own call stands in the form. */
  open() {
    const name = this.data.captures[this.desk.at].name;
    this.head.textContent = this.data.answer === "job" ? "Your call" : `Your call for ${name}`;
    for (const [key, { input }] of Object.entries(this.fields)) input.value = this.written[this.at][key];
    this.show();
  }

  show() {
    const { call, sure } = this.read(this.at);
    for (const [key, told] of [["cylinders", call], ["confidence", sure]]) {
      const { input, wrong } = this.fields[key];
      input.setAttribute("aria-invalid", String("wrong" in told));
      if (wrong.textContent !== (told.wrong ?? "")) wrong.textContent = told.wrong ?? "";
    }
    if (this.data.answer === "job") {
      const confidence = sure.confidence ? ` --confidence ${sure.confidence}` : "";
      const quoted = call.call?.includes("|") ? `'${call.call}'` : call.call || "CYLINDERS";
      this.command.textContent = `waterjacket practice call --in FOLDER ${quoted}${confidence}`;
      return;
    }
    const all = this.written.map((_, i) => this.read(i));
    const rows = this.data.captures.map((capture, i) => {
      const turn = button(capture.name, () => this.desk.turn(i));
      const row = make("tr", {}, make("td", {}, turn), make("td", {}, all[i].call.wrong ? "?" : all[i].call.call || "\u2013"), make("td", {}, all[i].sure.wrong ? "?" : all[i].sure.confidence || "\u2013"));
      if (i === this.at) row.setAttribute("aria-current", "true");
      return row;
    });
    this.list.replaceChildren(...rows);
    const made = all.filter((c) => c.call.call).length;
    const state = this.isUnsaved ? "not saved yet" : made > 0 ? "saved" : "nothing to save";
    this.status.textContent = `${made} of ${all.length} called, ${state}.`;
  }

  /** Saves what was called; nothing while something cannot be read. */
  save() {
    const bad = this.written.findIndex((_, i) => {
      const { call, sure, note } = this.read(i);
      return call.wrong || sure.wrong || (!call.call && (sure.confidence || note));
    });
    if (bad >= 0) {
      this.desk.turn(bad);
      const { call, sure } = this.read(bad);
      this.fields[call.wrong || !sure.wrong ? "cylinders" : "confidence"].input.focus();
      this.status.textContent = `Nothing was saved: the call for ${this.data.captures[bad].name} is not complete.`;
      return;
    }
    const text = this.sheet;
    if (text === "") {
      this.status.textContent = "Nothing was saved: there is no call yet.";
      return;
    }
    const address = URL.createObjectURL(new Blob([text], { type: "text/csv" }));
    make("a", { href: address, download: sheetName(this.student) }).click();
    setTimeout(() => URL.revokeObjectURL(address), 10_000);
    this.saved = JSON.stringify(this.written);
    this.show();
  }
}
