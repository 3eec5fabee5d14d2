/* Photographs go one by one, so that each is kept as soon as it has arrived and the page can say how far it is.
   Without this script the form sends them all at once, and the server names those it refuses. */
(function () {
  "use strict";
  function start(form) {
    const input = form.querySelector("input[type=file]");
    const picked = form.querySelector("[data-picked]");
    const progress = form.querySelector("[data-progress]");
    const button = form.querySelector("button.go");
    if (!input || !progress) return;

    input.addEventListener("change", function () {
      picked.replaceChildren(...Array.from(input.files).map(show));
      picked.hidden = input.files.length === 0;
    });

    function show(file) {
      const item = document.createElement("li");
      const image = document.createElement("img");
      image.alt = file.name;
      image.src = URL.createObjectURL(file);
      image.addEventListener("load", function () { URL.revokeObjectURL(image.src); });
      image.addEventListener("error", function () { image.replaceWith(document.createTextNode(file.name)); });
      item.append(image);
      return item;
    }

    function say(done, total) {
      progress.hidden = false;
      progress.querySelector("p").textContent = progress.dataset.words.replace("{n}", Math.min(done + 1, total)).replace("{total}", total);
      progress.querySelector(".cells").replaceChildren(...Array.from({ length: total }, function (_, n) {
        const cell = document.createElement("span");
        if (n < done) cell.className = "done";
        return cell;
      }));
    }

    // Asked before the file leaves the phone: the answer says which photograph is kept, or why not.
    async function send(file) {
      const data = new FormData();
      ["csrfmiddlewaretoken", "batch", "strake", "caption"].forEach(function (name) {
        const field = form.elements[name];
        if (field) data.append(name, field.value);
      });
      data.append("photos", file, file.name);
      const answer = await fetch(form.action, { method: "POST", body: data, headers: { Accept: "application/json" }, redirect: "error" });
      if (answer.ok) return "";
      if (answer.status === 401) throw new Error("closed");
      const body = await answer.json().catch(function () { return {}; });
      return (body.refused && body.refused[0] && body.refused[0].sentence) || progress.dataset.refused;
    }

    function refuse(file, sentence) {
      const line = document.createElement("p");
      const name = document.createElement("b");
      line.className = "err";
      line.setAttribute("role", "alert");
      name.textContent = file.name;
      line.append(name, " " + sentence);
      progress.before(line);
    }

    form.addEventListener("submit", async function (event) {
      const files = Array.from(input.files);
      if (files.length === 0) return;
      event.preventDefault();
      button.disabled = true;
      let refused = 0;
      const left = new DataTransfer();
      for (let n = 0; n < files.length; n += 1) {
        say(n, files.length);
        let sentence;
        try { sentence = await send(files[n]); } catch (why) {
          sentence = why.message === "closed" ? progress.dataset.closed : progress.dataset.broken;
          left.items.add(files[n]);
        }
        if (sentence) { refused += 1; refuse(files[n], sentence); }
      }
      say(files.length, files.length);
      button.disabled = false;
      input.files = left.files;
      input.dispatchEvent(new Event("change"));
      form.elements.sent.value = Number(form.elements.sent.value || 0) + files.length - refused;
      if (refused === 0) form.submit();
    });
  }
  document.querySelectorAll("form[data-photo-note]").forEach(start);
})();
