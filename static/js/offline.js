/* The page that stands when the log cannot be reached. It holds nothing of anybody; the forms are made here from the
   work packet that Bench left on this phone, and what is typed goes to the waiting list. */
(function (reckoner) {
  "use strict";
  const DAYS = 30;
  // How long the log is asked who is signed in before the page is drawn as without a signal.
  const ASKED_MS = 3000;
  let root, words;

  function make(name, text, more) {
    const element = document.createElement(name);
    if (text) element.textContent = text;
    return Object.assign(element, more || {});
  }

  function copy(id) { return document.getElementById(id).content.firstElementChild.cloneNode(true); }

  function draftKey(packet, path) { return packet.owner + " " + path; }

  // Typed here, it is the same draft as on the strake's own page. After a lapsed sign-in the draft is neither shown nor
  // written over: whoever holds the phone then need not be who typed it.
  async function withDraft(form, packet, path) {
    if (packet.closed) {
      form.dataset.itemId = reckoner.newId();
      return;
    }
    const draft = await reckoner.get("drafts", draftKey(packet, path)).catch(function () { return null; });
    form.dataset.itemId = (draft && draft.id) || reckoner.newId();
    if (draft) {
      draft.fields.forEach(function (pair) {
        Array.from(form.elements).forEach(function (field) {
          if (field.name !== pair[0] || field.type === "file") return;
          if (field.type === "radio") field.checked = field.value === pair[1]; else field.value = pair[1];
        });
      });
    }
    form.addEventListener("input", function () {
      reckoner.put("drafts", { key: draftKey(packet, path), id: form.dataset.itemId, fields: pairs(form), at: Date.now() }).catch(function () { /* no room */ });
    });
  }

  function pairs(form) {
    const found = [];
    new FormData(form).forEach(function (value, name) { if (typeof value === "string") found.push([name, value]); });
    return found;
  }

  async function kept(form, packet, path, title) {
    if (!packet.closed) await reckoner.drop("drafts", draftKey(packet, path)).catch(function () { return null; });
    const line = make("p", words.kept + " " + title + ".", { className: "note", tabIndex: -1 });
    line.setAttribute("role", "status");
    line.dataset.keptHere = "";
    form.replaceWith(line);
    line.focus();
  }

  function complain(form, text) {
    const line = form.querySelector(".err") || make("p", "", { className: "err" });
    line.setAttribute("role", "alert");
    line.textContent = text;
    form.append(line);
  }

  function widthsForm(packet, strake) {
    const form = copy("offline-widths");
    form.querySelector("h2").firstChild.textContent = strake.title + " ";
    form.querySelector(".unit").textContent = packet.unit;
    const list = form.querySelector(".entry-rows");
    strake.stations.forEach(function (station) {
      const row = copy("offline-row");
      const field = row.querySelector("input");
      field.id = "at-" + strake.uuid + "-" + station.name;
      field.name = station.name;
      row.querySelector("label").htmlFor = field.id;
      row.querySelector("label").textContent = station.at;
      row.querySelector(".entry-side").textContent = station.wanted ? words.wanted + " " + station.wanted : "";
      if (station.wanted) row.dataset.wanted = station.wanted;
      row.append(make("input", "", { type: "hidden", name: station.name + "-uuid", value: reckoner.newId() }));
      list.append(row);
    });
    if (packet.places) Object.assign(form.dataset, { keypad: "", places: packet.places, within: packet.within });
    else form.querySelector(".keypad").remove();
    if (strake.instrument) form.append(make("input", "", { type: "hidden", name: "instrument", value: strake.instrument }));
    form.querySelector('[name="stage"][value="' + strake.stage + '"]').checked = true;
    withDraft(form, packet, strake.url);
    form.addEventListener("submit", async function (event) {
      event.preventDefault();
      if (!strake.stations.some(function (station) { return form.elements[station.name].value.trim(); })) return complain(form, words.empty);
      try {
        await reckoner.keep({ id: form.dataset.itemId, owner: packet.owner, url: strake.url, page: strake.url, title: strake.title + ", " + words.widths, fields: pairs(form) });
      } catch { return complain(form, words.phoneFull); }
      return kept(form, packet, strake.url, strake.title);
    });
    return form;
  }

  async function keepPhotos(form, packet, batch) {
    let left = 0;
    for (const file of Array.from(form.elements.photos.files)) {
      try {
        await reckoner.keep({
          id: reckoner.newId(), owner: packet.owner, url: packet.photo_url, page: packet.photo_url, title: words.photo + ": " + file.name,
          fields: [["batch", batch], ["strake", form.elements.strake.value], ["caption", ""]],
          photo: { field: "photos", name: file.name, type: file.type, bytes: await file.arrayBuffer() },
        });
      } catch { left += 1; }
    }
    return left;
  }

  function photoForm(packet) {
    const form = copy("offline-photo");
    const batch = reckoner.newId();
    packet.strakes.forEach(function (strake) { form.elements.strake.append(make("option", strake.title, { value: strake.uuid })); });
    withDraft(form, packet, packet.photo_url);
    form.addEventListener("submit", async function (event) {
      event.preventDefault();
      const note = form.elements.note.value.trim();
      if (!note && !form.elements.photos.files.length) return complain(form, words.empty);
      try {
        if (note) await reckoner.keep({ id: form.dataset.itemId, owner: packet.owner, url: packet.photo_url, page: packet.photo_url, title: words.photo, fields: [["batch", batch], ["note", note]] });
      } catch { return complain(form, words.phoneFull); }
      const left = await keepPhotos(form, packet, batch);
      if (left) return complain(form, words.phoneFull);
      return kept(form, packet, packet.photo_url, words.photo);
    });
    return form;
  }

  function section(title, form) {
    const box = make("details", "", { name: "offline" });
    box.append(make("summary", title));
    box.addEventListener("toggle", function () {
      if (!box.open) return;
      if (box.querySelector("form, .note")) return box.scrollIntoView({ block: "start" });
      const made = form();
      box.append(made);
      // The keys start on a form that came later, as they do where one is swapped in.
      document.dispatchEvent(new CustomEvent("htmx:load", { detail: { elt: made } }));
      // The keys take the lower half of a small phone: what they are for stands above them, from its head on.
      box.scrollIntoView({ block: "start" });
    });
    return box;
  }

  function draw(packets, account) {
    root.replaceChildren();
    const young = packets.filter(function (packet) { return Date.now() - packet.madeAt < DAYS * 86400000 && (!account || packet.owner === account); });
    if (!young.length) return root.append(make("p", words.none, { className: "note" }));
    young.forEach(function (packet) {
      root.append(make("h2", packet.name), make("p", words.asOf.replace("{revision}", packet.revision).replace("{day}", new Date(packet.madeAt).toLocaleDateString(undefined, { day: "numeric", month: "long", year: "numeric" })), { className: "second" }));
      if (packet.person) root.append(make("p", words.recordedAs.replace("{name}", packet.person)));
      packet.strakes.forEach(function (strake) {
        root.append(section(strake.title + ": " + words.widths, function () { return widthsForm(packet, strake); }));
      });
      root.append(section(words.photo, function () { return photoForm(packet); }));
    });
  }

  // Also beneath what was kept in a page on plain http, which has no other way to the next strake (waiting.js).
  reckoner.mountOffline = function (place) {
    root = place;
    words = root.dataset;
    if (reckoner.owner) return show(reckoner.owner);
    return reckoner.all("packets").then(function (packets) { return packets.length ? ask() : draw([]); }).catch(function () { draw([]); });
  };

  function ask() {
    let late = false;
    const asked = reckoner.here().catch(function () { return null; }).then(function (who) {
      // An answer that comes late still closes what nobody has opened yet.
      if (!late || (who && !root.querySelector("form"))) return show(who && who.account);
      return null;
    });
    const patience = new Promise(function (resolve) { setTimeout(resolve, ASKED_MS, "late"); });
    return Promise.race([asked, patience]).then(function (told) {
      if (told !== "late") return null;
      late = true;
      return show("");
    });
  }

  function show(account) {
    return reckoner.all("packets").then(function (packets) { draw(packets, account); }).catch(function () { draw([]); });
  }

  const place = document.querySelector("[data-offline-strakes]");
  if (place) reckoner.mountOffline(place);
})(window.reckoner);
