export function whyInstall(dir: string): string | null
