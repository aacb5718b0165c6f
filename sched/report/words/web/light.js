"use strict";
// The safelight view, and "#...&safelight" in the address, so that a bookmark in the dark room opens dark.
(function () {
  const light = document.getElementById("light");
  if (!light) return;
  const set = (on) => {
    document.documentElement.classList.toggle("safelight", on);
    light.setAttribute("aria-pressed", String(on));
  };
  light.addEventListener("click", () => {
    set(!document.documentElement.classList.contains("safelight"));
    dispatchEvent(new Event("lightchange"));
  });
  if (/(^#|&)safelight(&|$)/.test(location.hash)) set(true);
})();
