/* Every field of a form that is kept (data-keep) is written down as it is typed, and comes back after a reload, a closed
   page or a lapsed sign-in. The names the log gave its figures come back with them, so that nothing is kept twice. */
(function (reckoner) {
  "use strict";
  const owner = reckoner.owner;
  if (!owner || !window.indexedDB) return;
  let last = Promise.resolve();

  function keyOf(form) {
    return owner + " " + new URL(form.getAttribute("action") || location.href, location.href).pathname;
  }

  function isKept(field) {
    return field.name && field.name !== "csrfmiddlewaretoken" && field.type !== "file" && field.type !== "submit" && field.tagName !== "BUTTON";
  }

  function valuesOf(form) {
    return Array.from(form.elements).filter(isKept).filter(function (field) {
      return (field.type !== "radio" && field.type !== "checkbox") || field.checked;
    }).map(function (field) { return [field.name, field.value]; });
  }

  function write(form) {
    if (!form.dataset.itemId) form.dataset.itemId = reckoner.newId();
    const row = { key: keyOf(form), id: form.dataset.itemId, fields: valuesOf(form), at: Date.now() };
    // One after another: the last key pressed is the last one written.
    last = last.then(function () { return form.dataset.forgotten ? null : reckoner.put("drafts", row); }).catch(function () { /* no room: the page still holds it */ });
    return last;
  }

  function isTyped(form, pair) {
    return !pair[0].endsWith("-uuid") && Array.from(form.elements).some(function (field) {
      return field.name === pair[0] && isKept(field) && field.type !== "hidden" && field.type !== "radio" && field.value !== pair[1];
    });
  }

  function restore(form, draft) {
    form.dataset.itemId = draft.id;
    if (!draft.fields.some(function (pair) { return isTyped(form, pair); })) return;
    draft.fields.forEach(function (pair) {
      Array.from(form.elements).filter(isKept).forEach(function (field) {
        if (field.name !== pair[0] || field.name.endsWith("-kept")) return;
        if (field.type === "radio" || field.type === "checkbox") field.checked = field.value === pair[1] || field.checked && field.type === "checkbox";
        else if (field.name !== "version") field.value = pair[1];
      });
    });
    reckoner.say(reckoner.words.back);
    if (bringTakes(form, draft)) return;
    form.dispatchEvent(new CustomEvent("reckoner:restored", { bubbles: true }));
    const empty = Array.from(form.querySelectorAll(".entry-row input:not([type=hidden])")).find(function (field) { return field.value === ""; });
    if (empty && !form.hasAttribute("data-waits")) empty.focus({ preventScroll: true });
  }

  // A second take has a row of its own, which the log draws: it is asked for once, and the draft then finds its place.
  const asked = new Set();
  function bringTakes(form, draft) {
    const button = form.querySelector('[hx-post$="/redraw/"]');
    const missing = draft.fields.some(function (pair) { return /^at\d+[b-f]$/.test(pair[0]) && pair[1] && !form.elements[pair[0]]; });
    if (!missing || !button || !window.htmx || asked.has(draft.id)) return false;
    asked.add(draft.id);
    const values = Object.fromEntries(draft.fields);
    values.csrfmiddlewaretoken = form.elements.csrfmiddlewaretoken.value;
    htmx.ajax("POST", button.getAttribute("hx-post"), { target: form, swap: "outerHTML", values: values });
    return true;
  }

  async function start(form) {
    const draft = await reckoner.get("drafts", keyOf(form)).catch(function () { return null; });
    // What was typed while the draft was read is newer than the draft.
    if (draft && !form.dataset.itemId) restore(form, draft);
  }

  function startAll(root) {
    if (root.matches && root.matches("form[data-keep]")) start(root);
    root.querySelectorAll("form[data-keep]").forEach(start);
  }

  ["input", "change"].forEach(function (name) {
    document.addEventListener(name, function (event) {
      const form = event.target.form;
      if (form && form.matches("form[data-keep]")) write(form);
    });
  });
  reckoner.draftOf = function (form) { return last.then(function () { return reckoner.get("drafts", keyOf(form)); }).catch(function () { return null; }); };
  reckoner.forgetDraft = function (form) {
    form.dataset.forgotten = "yes";
    return last.then(function () { return reckoner.drop("drafts", keyOf(form)); }).catch(function () { return null; }).then(function () { delete form.dataset.forgotten; });
  };
  startAll(document);
  document.addEventListener("htmx:load", function (event) { if (event.detail.elt !== document.body) startAll(event.detail.elt); });
})(window.reckoner);
