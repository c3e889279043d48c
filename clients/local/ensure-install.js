// Plain JavaScript for Node 20 and later, with no dependency: it runs before anything is installed.
// Runs `npm ci` when node_modules is not what package-lock.json asks for, and is done in milliseconds when it is.
import { spawnSync } from 'node:child_process'
import { existsSync, lstatSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'

/** The first Node that runs TypeScript files without a flag. */
const oldestNode = [22, 18]

/**
 * Why `npm ci` is needed in `dir`, or null when what is installed is what the lock file names.
 * @param {string} dir
 * @returns {string | null}
 */
export function whyInstall(dir) {
  const wanted = readPackages(join(dir, 'package-lock.json'))
  if (wanted === null) return 'package-lock.json cannot be read'
  const installed = readPackages(join(dir, 'node_modules', '.package-lock.json'))
  if (installed === null) return 'nothing is installed yet'
  for (const [path, { version, integrity, optional, devOptional, peer }] of Object.entries(wanted)) {
    if (path === '') continue
    const found = installed[path]
    // Optional packages are for other systems as often as not: npm leaves those out.
    if (found === undefined && (optional || devOptional || peer)) continue
    if (found === undefined) return `${path} is missing`
    if (found.version !== version || found.integrity !== integrity) return `${path} is not ${version}`
    if (!existsSync(join(dir, path))) return `${path} is missing`
  }
  const extra = Object.keys(installed).find((path) => wanted[path] === undefined)
  return extra === undefined ? null : `${extra} is no longer used`
}

/** @param {string} file */
function readPackages(file) {
  try {
    return JSON.parse(readFileSync(file, 'utf8')).packages ?? null
  } catch {
    return null
  }
}

/** A folder that is a link belongs to another checkout: installing there would change it under its feet. */
function isLink(path) {
  return existsSync(path) && lstatSync(path).isSymbolicLink()
}

/** npm puts node_modules/.bin first on the path of a script, so a Node installed there is the one that runs it. */
function nodeVersion(dir) {
  const local = join(dir, 'node_modules', '.bin', 'node')
  const answer = existsSync(local) ? spawnSync(local, ['--version'], { encoding: 'utf8' }) : null
  return answer?.status === 0 ? answer.stdout.trim() : process.version
}

function isOldNode(version) {
  const [major = 0, minor = 0] = version.replace(/^v/, '').split('.').map(Number)
  return major < oldestNode[0] || (major === oldestNode[0] && minor < oldestNode[1])
}

function main(dir) {
  const why = whyInstall(dir)
  if (why !== null && isLink(join(dir, 'node_modules'))) {
    console.error(
      `node_modules is a link and does not match package-lock.json (${why}): install it where it lives.`,
    )
  } else if (why !== null) {
    console.error(`Installing the packages of package-lock.json: ${why}. This takes a minute or two.`)
    // Standard output stays clean for the command that follows.
    const { status, error } = spawnSync('npm', ['ci', '--no-progress', '--loglevel=error'], {
      cwd: dir,
      stdio: ['ignore', 2, 2],
      shell: process.platform === 'win32',
    })
    if (status !== 0) {
      console.error(
        `npm ci failed${error ? `: ${error.message}` : ''}. Mend what it names above and start again.`,
      )
      process.exit(1)
    }
  }
  const version = nodeVersion(dir)
  if (isOldNode(version)) {
    console.error(`Node ${oldestNode.join('.')} or later is needed on this system; this is ${version}.`)
    process.exit(1)
  }
}

if (process.argv[1] && import.meta.url === pathToFileURL(process.argv[1]).href) {
  main(fileURLToPath(new URL('../..', import.meta.url)))
}
