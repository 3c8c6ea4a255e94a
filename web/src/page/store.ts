/** The browser's store for this page, where it lets us; a full or forbidden one loses nothing that is on the page. */
export const stored = (key: string): string | null => {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
};

export const store = (key: string, value: string): void => {
  try {
    localStorage.setItem(key, value);
  } catch {
    // Kept on the page only.
  }
};
