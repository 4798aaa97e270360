// What stands beside the step: each is asked for when it is opened.

/** Asks for what is open beside the step. */
export async function refreshSide() {}

/** Lets what is folded beside the step be opened. */
export function sideBySide() {}
