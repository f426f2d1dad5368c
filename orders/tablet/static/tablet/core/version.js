// The version of the program stands in the address that its modules come from (see views/shell.py).

export const VERSION = new URL(import.meta.url).pathname.split("/").at(-3);
export const ROOT = "/tablet/";
