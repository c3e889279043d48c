import { fileURLToPath } from 'node:url'

/** The project's folder, whatever the working folder is. */
export const projectDir = fileURLToPath(new URL('../..', import.meta.url))
