/* One place where a page says that a request did not do what the hand asked: the area with id "message".
   The sentences stand in the page (templates/parts/_message.html), so that they can be translated. A 409 is
   swapped like any answer (htmx-config in base.html), because it shows both texts. */
(function () {
  "use strict";
  const NAME_BY_STATUS = { 401: "closed", 403: "forbidden", 404: "gone", 410: "gone", 413: "large", 429: "often", 507: "full" };

  function say(name, told) {
    const area = document.getElementById("message");
    if (!area) return;
    const line = document.createElement("p");
    line.textContent = told || area.dataset[name] || area.dataset.failed;
    area.replaceChildren(line);
    line.scrollIntoView({ block: "nearest" });
  }

  // What the server itself says of the matter is nearer to it than any sentence kept here.
  function toldBy(answer) {
    const page = new DOMParser().parseFromString(answer, "text/html");
    const line = page.querySelector(".problem p");
    return line ? line.textContent.trim() : "";
  }

  document.addEventListener("htmx:responseError", function (event) {
    const xhr = event.detail.xhr;
    say(NAME_BY_STATUS[xhr.status] || "failed", toldBy(xhr.responseText || ""));
  });
  document.addEventListener("htmx:sendError", function () { say("offline"); });
  document.addEventListener("htmx:timeout", function () { say("late"); });
  // The next request that works takes the old sentence away.
  document.addEventListener("htmx:afterOnLoad", function (event) {
    const area = document.getElementById("message");
    if (area && event.detail.successful && !area.contains(event.detail.target)) area.replaceChildren();
  });
})();
