// Small help with the document. What a capture says goes in as text, never as HTML.

/** The element of an id. */
export function byId(id) {
  return document.getElementById(id);
}

/** A new element: properties, `aria-` and `data-` attributes, and children, elements or text. */
export function make(tag, properties = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (name.includes("-") || name === "role" || name === "scope" || name === "for") element.setAttribute(name, value);
    else element[name] = value;
  }
  element.append(...children);
  return element;
}

/** A choice among values with their words. */
export function choice(options, chosen, onChange, properties = {}) {
  const select = make("select", properties);
  for (const [value, words] of options) select.append(make("option", { value }, words));
  select.value = chosen;
  select.addEventListener("change", () => onChange(select.value));
  return select;
}

/** A box to tick, with its words. */
export function tick(words, checked, onChange) {
  const box = make("input", { type: "checkbox", checked });
  box.addEventListener("change", () => onChange(box.checked));
  return make("label", {}, box, words);
}

/** A button with its words. */
export function button(words, onClick, properties = {}) {
  const element = make("button", { type: "button", ...properties }, words);
  element.addEventListener("click", onClick);
  return element;
}
