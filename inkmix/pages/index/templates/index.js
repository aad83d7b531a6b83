
"use strict";
// Filters and sorts the spreads; what is chosen stands in the address, so that it can be kept.
const form = document.getElementById("find");
const told = document.getElementById("told");
const list = document.getElementById("cards");
const heads = [...list.querySelectorAll("h3")];
const stateOf = new Map(heads.map((head) => [head.dataset.s, head.dataset.state]));
const plain = (text) => text.normalize("NFKC").toLowerCase();
const cards = [...list.querySelectorAll("article")].map((node) => ({
  node,
  rank: Number(node.dataset.s),
  state: stateOf.get(node.dataset.s),
  number: Number(node.dataset.n),
  total: Number(node.dataset.t || -1),
  use: (node.dataset.u || "").split(" ").map((use) => (use === "" || use === "-" ? -1 : Number(use))),
  checks: (node.dataset.c || "").split("|"),
  name: plain(node.querySelector("h4").firstChild.textContent),
}));
let placed = "";

function chosen() {
  const data = new FormData(form);
  const said = { state: data.getAll("state") };
  for (const key of ["news", "check", "ink", "name", "order"]) said[key] = data.get(key) || "";
  return said;
}

function suits(card, said) {
  return said.state.includes(card.state)
    && (!said.news || said.news in card.node.dataset)
    && (!said.check || card.checks.includes(said.check))
    && (!said.ink || card.use[said.ink] > 0)
    && card.name.includes(plain(said.name));
}

function value(card, order) {
  if (order === "") return -card.rank;
  if (order === "book") return 0;
  return order === "total" ? card.total : card.use[order] ?? -1;
}

function place(order) {
  if (order === placed) return;
  placed = order;
  const all = [...cards].sort((a, b) => value(b, order) - value(a, order) || a.number - b.number);
  const parts = document.createDocumentFragment();
  let last = null;
  for (const card of all) {
    if (card.state !== last && order === "") parts.append(heads.find((head) => head.dataset.state === card.state));
    last = card.state;
    parts.append(card.node);
  }
  list.append(parts);
}

function show() {
  const said = chosen();
  place(said.order);
  let shown = 0;
  const states = new Set();
  for (const card of cards) {
    const fits = suits(card, said);
    card.node.hidden = !fits;
    if (fits) {
      shown += 1;
      states.add(card.state);
    }
  }
  for (const head of heads) head.hidden = said.order !== "" || !states.has(head.dataset.state);
  const all = shown === cards.length;
  told.toggleAttribute("data-all", all);
  told.textContent = all ? (cards.length === 1 ? "The only spread is shown." : `All ${cards.length} spreads are shown.`) : `${shown} of ${cards.length} spreads are shown.`;
  return said;
}

function keep() {
  const said = show();
  const params = new URLSearchParams();
  if (said.state.length < heads.length) params.set("state", said.state.join("."));
  for (const key of ["news", "check", "ink", "name", "order"]) if (said[key]) params.set(key, said[key]);
  history.replaceState(null, "", `#${params}`);
}

function read() {
  const params = new URLSearchParams(location.hash.slice(1));
  const states = params.has("state") ? params.get("state").split(".") : null;
  for (const box of form.querySelectorAll("[name=state]")) box.checked = !states || states.includes(box.value);
  for (const key of ["news", "check", "ink", "name", "order"]) {
    const field = form.elements[key];
    if (!field) continue;
    field.value = params.get(key) || "";
    if (field.selectedIndex === -1) field.value = "";
  }
  show();
}

function go(id) {
  const node = document.getElementById(id);
  if (!node) return false;
  if (node.hidden) {
    form.reset();
    keep();
  }
  node.tabIndex = -1;
  node.scrollIntoView();
  node.focus({ preventScroll: true });
  return true;
}

async function copy(button, text) {
  try {
    await navigator.clipboard.writeText(text.textContent);
    button.textContent = "Copied";
  } catch {
    getSelection().selectAllChildren(text);
    button.textContent = "Selected: copy it with the keyboard";
  }
}

function offer(details) {
  for (const text of details.querySelectorAll("pre:not([data-offered])")) {
    text.dataset.offered = "";
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = "Copy";
    button.addEventListener("click", () => copy(button, text));
    text.after(button);
  }
}

form.addEventListener("input", keep);
form.addEventListener("submit", (event) => event.preventDefault());
form.addEventListener("reset", () => setTimeout(keep));
addEventListener("hashchange", () => go(location.hash.slice(1)) || read());
document.addEventListener("toggle", (event) => event.target.open && offer(event.target), true);
document.addEventListener("click", (event) => {
  const link = event.target.closest('a[href^="#"]');
  if (link && go(link.hash.slice(1))) event.preventDefault();
});
// A page on a disk cannot ask what changed, so a watched one loads itself again, when it may.
function again() {
  const idle = !document.querySelector("details[open]") && document.activeElement === document.body;
  if (!document.hidden && idle && !String(getSelection())) location.reload();
}
if (document.getElementById("watched")) {
  document.addEventListener("visibilitychange", again);
  setInterval(again, 4000 + 4 * document.querySelectorAll("article").length);
}
form.hidden = false;
read();
