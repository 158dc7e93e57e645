// data-theme-toggle: a button that switches between light and dark; the choice is kept in this browser.
const root = document.documentElement;
const KEY = "theme";

function remembered() {
  try {
    return localStorage.getItem(KEY);
  } catch {
    return null; // storage may be switched off; the system's wish then stands
  }
}

function isDark() {
  const chosen = root.dataset.theme;
  return chosen ? chosen === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
}

const kept = remembered();
if (kept === "light" || kept === "dark") root.dataset.theme = kept;

for (const button of document.querySelectorAll("[data-theme-toggle]")) {
  const label = () => (button.textContent = isDark() ? "Light" : "Dark");
  button.hidden = false;
  label();
  button.addEventListener("click", () => {
    root.dataset.theme = isDark() ? "light" : "dark";
    try {
      localStorage.setItem(KEY, root.dataset.theme);
    } catch {
      // nothing to keep it in
    }
    label();
  });
}
