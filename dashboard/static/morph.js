// Makes an element's content equal to new HTML while keeping every node that need not change,
// so that focus, an open list and a finger on a control survive.

import { localise } from "./times.js";

export function morph(target, html) {
  const wanted = document.createElement("template");
  wanted.innerHTML = html;
  localise(wanted.content);
  children(target, wanted.content);
}

function children(have, want) {
  const keyed = new Map([...have.children].filter((n) => n.dataset.key).map((n) => [n.dataset.key, n]));
  let at = have.firstChild;
  for (const next of [...want.childNodes]) {
    const known = next.dataset?.key ? keyed.get(next.dataset.key) : undefined;
    if (known && known !== at) have.insertBefore(known, at);
    const node = known ?? at;
    if (node && same(node, next)) {
      update(node, next);
      at = node.nextSibling;
    } else {
      have.insertBefore(next, at);
    }
  }
  while (at) {
    const gone = at;
    at = at.nextSibling;
    gone.remove();
  }
}

function same(have, want) {
  return have.nodeType === want.nodeType && have.nodeName === want.nodeName &&
    have.id === want.id && have.dataset?.key === want.dataset?.key;
}

function update(have, want) {
  if (have.nodeType !== Node.ELEMENT_NODE) {
    if (have.data !== want.data) have.data = want.data;
    return;
  }
  for (const { name } of [...have.attributes]) {
    // what a person opened stays open
    const opened = (name === "open" && have.nodeName === "DETAILS") || (name === "aria-expanded" && "unfolds" in have.dataset);
    if (!want.hasAttribute(name) && !opened) have.removeAttribute(name);
  }
  for (const { name, value } of want.attributes) {
    if (have.getAttribute(name) !== value) have.setAttribute(name, value);
  }
  children(have, want);
}
