// Six small helps. Every page works without them; none of them decides anything.
"use strict";

// 1. A form is sent once.
function sendOnce(form) {
  const marks = (on) => {
    form.toggleAttribute("data-sent", on);
    const buttons = [...form.elements].filter((control) => control.type === "submit");
    // Not `disabled`: a disabled button would be left out of what is sent.
    buttons.forEach((button) => (on ? button.setAttribute("aria-disabled", "true") : button.removeAttribute("aria-disabled")));
  };
  form.addEventListener("submit", (event) => {
    if (form.hasAttribute("data-sent")) event.preventDefault();
    else marks(true);
  });
  window.addEventListener("pageshow", () => marks(false));
}

// 2. Counting with wet hands.
function countSentence(count, expected, parts) {
  if (count === "" || !expected) return "";
  const missing = expected - Number(count);
  if (missing === 0) return expected === 1 ? "The one part is here." : `All ${expected} are here.`;
  if (missing < 0) return `${-missing} more than this step frees: from where?`;
  return `${missing} of ${expected} ${missing === 1 ? "is" : "are"} missing${parts ? `: ${parts}` : ""}?`;
}

function countBox(box) {
  const input = box.querySelector("input");
  const said = box.querySelector("output");
  const show = () => {
    if (!said || !box.dataset.expected) return;
    said.textContent = countSentence(input.value, Number(box.dataset.expected), box.dataset.parts);
    said.classList.toggle("caution", input.value !== "" && input.value !== box.dataset.expected);
    said.classList.toggle("ok", input.value === box.dataset.expected);
  };
  box.querySelectorAll("[data-step]").forEach((button) => {
    button.hidden = false;
    button.addEventListener("click", () => {
      if (button.dataset.step < 0) input.stepDown();
      else input.stepUp();
      input.dispatchEvent(new Event("input", { bubbles: true }));
    });
  });
  input.addEventListener("input", show);
  show();
}

// 3. Typed text outlives a reload, a refusal on another page and an expired sign-in; sent text does not come back.
const KEPT = "ebbwright:";
const keptNames = () => Object.keys(sessionStorage).filter((name) => name.startsWith(KEPT));
const readKept = (name) => JSON.parse(sessionStorage.getItem(name) || "null");
const writeKept = (name, kept) => sessionStorage.setItem(name, JSON.stringify(kept));
const keepable = (control) => control.name && !["password", "file", "hidden", "submit", "button"].includes(control.type);
const isTick = (control) => control.type === "checkbox" || control.type === "radio";

// What was done leads on from the form to another page. Whoever comes here otherwise may have lost the line meanwhile.
function settleSent() {
  const failed = document.querySelector("[data-unsaved], .refusals, [aria-invalid]");
  const came = performance.getEntriesByType("navigation")[0];
  const led = came?.type === "navigate" && came.redirectCount > 0 && !failed;
  const done = document.querySelector("[data-done]") !== null; // what was made is shown at the form's own address
  keptNames().forEach((name) => {
    const kept = readKept(name);
    // Under a private link no page has a referrer; elsewhere whoever typed an address that leads on has none.
    if (kept.sent && done) sessionStorage.removeItem(name);
    else if (kept.sent && led && (kept.bare || document.referrer !== "")) sessionStorage.removeItem(name);
    else writeKept(name, { ...kept, sent: false });
  });
}

function valuesOf(form) {
  return [...form.elements].filter(keepable).map((control) => [control.name, isTick(control) ? [control.value, control.checked] : control.value]);
}

function putBack(form, values) {
  form.querySelectorAll("[data-lines]").forEach((lines) => {
    while (values.some(([name]) => name.startsWith(`${lines.dataset.lines}[${lineCount(lines)}]`))) addLine(lines);
  });
  const before = JSON.stringify(valuesOf(form));
  values.forEach(([name, value]) => {
    const same = [...form.elements].filter((control) => control.name === name && keepable(control));
    if (Array.isArray(value)) same.filter((tick) => tick.value === value[0]).forEach((tick) => (tick.checked = value[1]));
    else if (same.length === 1) same[0].value = value;
  });
  return before !== JSON.stringify(valuesOf(form));
}

function sayPutBack(form, forget) {
  const note = document.createElement("div");
  note.className = "kept";
  note.setAttribute("role", "status");
  const words = document.createElement("span");
  words.textContent = "What was typed here and not sent is back.";
  const again = document.createElement("button");
  again.type = "button";
  again.className = "btn quiet slim";
  again.textContent = "Start afresh";
  again.addEventListener("click", () => {
    forget();
    window.location.reload();
  });
  note.append(words, again);
  form.prepend(note);
}

// Whoever comes Back to a form that was sent sends it under its old key: the server then answers as it did, and makes
// nothing twice.
function rememberSent(form) {
  const name = `sent:${form.dataset.keep}`;
  const once = form.elements.namedItem("once");
  if (!once) return;
  const back = performance.getEntriesByType("navigation")[0]?.type === "back_forward";
  if (back && sessionStorage.getItem(name)) once.value = sessionStorage.getItem(name);
  form.addEventListener("submit", () => sessionStorage.setItem(name, once.value));
}

function keepTyped(form) {
  const name = KEPT + form.dataset.keep;
  const kept = readKept(name);
  const refused = document.querySelector(".refusals") || form.querySelector("[aria-invalid]");
  const once = form.elements.namedItem("once");
  // After a refusal the server has put back what was sent, and knows better.
  if (kept && !refused) {
    if (putBack(form, kept.values)) sayPutBack(form, () => sessionStorage.removeItem(name));
    // It may have been done, and only the answer was lost: under its old key it is not done twice.
    if (once && kept.once) once.value = kept.once;
  }
  const save = (sent) => writeKept(name, { sent, once: once?.value, bare: document.referrer === "", values: valuesOf(form) });
  form.addEventListener("input", () => save(false));
  form.addEventListener("change", () => save(false));
  form.addEventListener("lines", () => save(false));
  form.addEventListener("submit", () => save(true));
  form.querySelector("[data-leave]")?.addEventListener("click", () => sessionStorage.removeItem(name));
}

// 4. Lines of a drop-off, in the list notation lines[0]words.
const linesIn = (lines) => [...lines.querySelectorAll(":scope > .line")];
const lineCount = (lines) => linesIn(lines).length;

function numberLine(line, list, n) {
  line.querySelectorAll("*").forEach((part) => {
    if (part.name) part.name = part.name.replace(new RegExp(`^${list}\\[\\d+\\]`), `${list}[${n}]`);
    ["id", "for", "aria-describedby"].forEach((attribute) => {
      const value = part.getAttribute(attribute);
      if (value) part.setAttribute(attribute, value.replaceAll(new RegExp(`\\b${list}-\\d+-`, "g"), `${list}-${n}-`));
    });
  });
  line.querySelectorAll(".line-number").forEach((number) => (number.textContent = n + 1));
}

function renumber(lines) {
  linesIn(lines).forEach((line, n) => numberLine(line, lines.dataset.lines, n));
  const only = lineCount(lines) === 1;
  lines.querySelectorAll("[data-remove-line]").forEach((button) => (button.hidden = only));
}

function addLine(lines) {
  const template = lines.querySelector(":scope > template");
  const line = template.content.firstElementChild.cloneNode(true);
  // Numbered before it goes in: a ticked radio of the same name would untick the one in the first line.
  numberLine(line, lines.dataset.lines, lineCount(lines));
  template.before(line);
  renumber(lines);
  return line;
}

function lineBox(lines) {
  const changed = () => lines.dispatchEvent(new Event("lines", { bubbles: true }));
  const adder = lines.querySelector("[data-add-line]");
  adder.hidden = false;
  adder.addEventListener("click", () => {
    addLine(lines).querySelector("input, select, textarea").focus();
    changed();
  });
  lines.addEventListener("click", (event) => {
    const line = event.target.closest("[data-remove-line]")?.closest(".line");
    if (!line) return;
    line.remove();
    renumber(lines);
    adder.focus();
    changed();
  });
  renumber(lines);
}

// 5. Of two lists whose choices say what they are of, the second offers what fits the first; all while nothing is chosen there.
function offerFitting(box) {
  const [first, second] = [...box.querySelectorAll("select")].filter((list) => list.querySelector("[data-of]"));
  if (!second) return;
  const of = first.selectedOptions[0]?.dataset.of;
  [...second.options].forEach((option) => {
    option.hidden = option.disabled = Boolean(of && option.dataset.of && option.dataset.of !== of);
    if (option.disabled && option.selected) second.value = "";
  });
}

function fitLists(form) {
  const all = () => (form.querySelector(".line") ? form.querySelectorAll(".line") : [form]).forEach(offerFitting);
  form.addEventListener("change", all);
  form.addEventListener("lines", all);
  all();
}

// 6. What was refused is read first.
function showRefusals() {
  const first = document.querySelector(".refusals") || document.querySelector("[aria-invalid]");
  if (!first) return;
  first.focus();
  first.scrollIntoView({ block: "center" });
}

document.querySelectorAll("[data-lines]").forEach(lineBox);
settleSent();
document.querySelectorAll("form[data-keep]").forEach(keepTyped);
document.querySelectorAll("form[data-keep]").forEach(rememberSent);
document.querySelectorAll("form").forEach(fitLists);
document.querySelectorAll("form[data-once]").forEach(sendOnce);
document.querySelectorAll("form[data-forget]").forEach((form) => {
  form.addEventListener("submit", () => keptNames().forEach((name) => sessionStorage.removeItem(name)));
});
document.querySelectorAll(".count").forEach(countBox);
showRefusals();
