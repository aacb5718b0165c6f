"use strict";
// A word of the glossary opens the list at the end of the page. The address stays: some pages keep their state in it.
document.addEventListener("click", (e) => {
  const word = e.target.closest && e.target.closest("a.word");
  const meaning = word && document.getElementById(word.getAttribute("href").slice(1));
  if (!meaning) return;
  e.preventDefault();
  meaning.closest("details").open = true;
  meaning.focus({ preventScroll: true });
  meaning.scrollIntoView({ block: "center" });
});
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
