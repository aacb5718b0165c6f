"use strict";
(function () {
  const light = document.getElementById("light");
  const set = (on) => {
    document.documentElement.classList.toggle("safelight", on);
    light.setAttribute("aria-pressed", String(on));
  };
  light.addEventListener("click", () => set(!document.documentElement.classList.contains("safelight")));
  if (location.hash === "#safelight") set(true);
})();
