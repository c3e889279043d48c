/** Signing in as people do it: real Chromium, the served app, a virtual authenticator for passkeys. */
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { removeStateDir, startServed, type ServedProcess } from '../scenarios/served.ts'
import { openBrowser } from './chromium.ts'

let served: ServedProcess
let browser: Browser
beforeAll(async () => {
  served = await startServed()
  browser = await openBrowser()
})
afterAll(async () => {
  await browser.close()
  await served.stop()
  removeStateDir(served.stateDir)
})

type Body = Readonly<Record<string, unknown>>

async function asHost(line: string, body: Body): Promise<Body> {
  const [method = 'GET', path = '/'] = line.split(' ')
  const answer: Body = await (await served.call(method, path, body)).json()
  return answer
}

/** A call as the page's own script makes it: its cookie, its origin, its policy. */
async function inPage(page: Page, line: string, body?: unknown): Promise<{ status: number; body: Body }> {
  return page.evaluate(
    async ({ method, path, text }) => {
      const answer = await fetch(path, {
        method,
        headers: text === null ? {} : { 'content-type': 'application/json' },
        body: text,
      })
      const answered = await answer.text()
      return { status: answer.status, body: answered === '' ? {} : JSON.parse(answered) }
    },
    {
      method: line.split(' ')[0] ?? '',
      path: line.split(' ')[1] ?? '',
      text: body === undefined ? null : JSON.stringify(body),
    },
  )
}

async function join(context: BrowserContext, link: string): Promise<Page> {
  const page = await context.newPage()
  await page.goto(link)
  await page.getByRole('button', { name: 'Sign in on this device' }).click()
  await page.waitForURL(`${served.origin}/`)
  return page
}

/** What a phone's own lock does: holds the key, and says yes. */
async function addAuthenticator(page: Page): Promise<void> {
  const session = await page.context().newCDPSession(page)
  await session.send('WebAuthn.enable')
  await session.send('WebAuthn.addVirtualAuthenticator', {
    options: {
      protocol: 'ctap2',
      transport: 'internal',
      hasResidentKey: true,
      hasUserVerification: true,
      isUserVerified: true,
      automaticPresenceSimulation: true,
    },
  })
}

const makePasskey = (page: Page, options: Body) =>
  page.evaluate(async (publicKey) => {
    // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- the server's options, as the browser takes them
    const given = PublicKeyCredential.parseCreationOptionsFromJSON(publicKey as never)
    const made = await navigator.credentials.create({ publicKey: given })
    if (!(made instanceof PublicKeyCredential)) throw new Error('no passkey was made')
    return made.toJSON()
  }, options)

const usePasskey = (page: Page, options: Body) =>
  page.evaluate(async (publicKey) => {
    // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- the server's options, as the browser takes them
    const given = PublicKeyCredential.parseRequestOptionsFromJSON(publicKey as never)
    const used = await navigator.credentials.get({ publicKey: given })
    if (!(used instanceof PublicKeyCredential)) throw new Error('no passkey was used')
    return used.toJSON()
  }, options)

test('invite, other device, sign out everywhere, and back with a passkey', async () => {
  const hangar = await asHost('POST /v1/hangars', { name: 'Sparrow Meadow, row 2' })
  const invite = await asHost(`POST /v1/hangars/${String(hangar['id'])}/invites`, {
    role: 'keeper',
    name: 'Mira',
  })
  const [desk, phone] = [await browser.newContext(), await browser.newContext()]

  const page = await join(desk, String(invite['link']))
  const [cookie] = await desk.cookies()
  expect(cookie).toMatchObject({
    name: '__Host-beadwatch',
    httpOnly: true,
    secure: true,
    sameSite: 'Lax',
    path: '/',
  })
  expect(page.url()).not.toContain(String(invite['token']))
  expect((await inPage(page, 'GET /v1/me')).body).toMatchObject({
    person: { name: 'Mira' },
    hangars: [{ role: 'keeper' }],
  })

  await addAuthenticator(page)
  const asked = await inPage(page, 'POST /v1/passkeys/options')
  const response = await makePasskey(page, asked.body)
  expect((await inPage(page, 'POST /v1/passkeys', { name: 'Desk', response })).status).toBe(201)
  const replayed = await inPage(page, 'POST /v1/passkeys', { name: 'Again', response })
  expect(replayed.status).toBe(422)

  const link = await inPage(page, 'POST /v1/me/links')
  const other = await join(phone, String(link.body['link']))
  expect((await inPage(other, 'GET /v1/sessions')).body['items']).toHaveLength(2)
  expect((await inPage(other, 'DELETE /v1/sessions')).status).toBe(204)
  expect((await inPage(other, 'GET /v1/me')).status).toBe(401)
  expect((await inPage(page, 'GET /v1/me')).status).toBe(401)
  expect(await phone.cookies()).toEqual([])

  const begun = await inPage(page, 'POST /v1/sign-in/options')
  const answer = await usePasskey(page, begun.body)
  const back = await inPage(page, 'POST /v1/sign-in', { response: answer })
  expect(back).toMatchObject({ status: 200, body: { person: { name: 'Mira' } } })
  expect((await inPage(page, 'GET /v1/me')).status).toBe(200)

  // The same signed answer a second time, from somewhere else: its challenge is gone.
  expect((await inPage(other, 'POST /v1/sign-in', { response: answer })).status).toBe(401)
  expect((await inPage(other, 'GET /v1/me')).status).toBe(401)
  await Promise.all([desk.close(), phone.close()])
})

/** Another base64url text of the same length. */
function flipLast(text: string): string {
  const at = text.length - 4
  return text.slice(0, at) + (text[at] === 'A' ? 'B' : 'A') + text.slice(at + 1)
}

test('an answer signed for another person’s challenge, or tampered with, signs nobody in', async () => {
  const hangar = await asHost('POST /v1/hangars', { name: 'Sparrow Meadow, row 3' })
  const invite = await asHost(`POST /v1/hangars/${String(hangar['id'])}/invites`, {
    role: 'watcher',
    name: 'Otto',
  })
  const context = await browser.newContext()
  const page = await join(context, String(invite['link']))
  await addAuthenticator(page)
  const asked = await inPage(page, 'POST /v1/passkeys/options')
  const response = await makePasskey(page, asked.body)
  await inPage(page, 'POST /v1/passkeys', { name: 'Phone', response })
  await inPage(page, 'POST /v1/sign-out')

  const begun = await inPage(page, 'POST /v1/sign-in/options')
  const answer = await usePasskey(page, begun.body)
  if (!('signature' in answer.response)) throw new Error('an answer to sign in has a signature')
  const { signature } = answer.response
  const flipped = { ...answer, response: { ...answer.response, signature: flipLast(signature) } }
  expect((await inPage(page, 'POST /v1/sign-in', { response: flipped })).status).toBe(401)
  // The attempt has used the challenge up: the good answer is too late.
  expect((await inPage(page, 'POST /v1/sign-in', { response: answer })).status).toBe(401)
  for (const nonsense of [{}, { id: 'x' }, { ...answer, id: 'nobody' }, { ...answer, response: {} }])
    expect((await inPage(page, 'POST /v1/sign-in', { response: nonsense })).status).toBe(401)
  await context.close()
})

test('the page may load nothing from elsewhere and run nothing inline, and shows what people typed as text', async () => {
  const hangar = await asHost('POST /v1/hangars', { name: '<b>Row</b> 4' })
  const invite = await asHost(`POST /v1/hangars/${String(hangar['id'])}/invites`, {
    role: 'keeper',
    name: 'Ida',
  })
  const typed = '<img src=x onerror="document.title=1">'
  await asHost(`POST /v1/hangars/${String(hangar['id'])}/rigs`, {
    name: typed,
    slug: 'typed',
    settings: { band: { start: 15, stop: 6 } },
  })
  const context = await browser.newContext()
  const page = await join(context, String(invite['link']))
  const complaints: string[] = []
  page.on('console', (message) => void (/policy/i.test(message.text()) && complaints.push(message.text())))
  page.on('pageerror', (error) => void complaints.push(error.message))
  const answer = await page.goto(`${served.origin}/rigs`)
  const policy = answer?.headers()['content-security-policy'] ?? ''
  expect(policy).toContain("default-src 'none'")
  expect(policy).not.toMatch(/unsafe|\*|https?:/)
  expect(answer?.headers()['referrer-policy']).toBe('no-referrer')
  await page.getByText(typed).first().waitFor()
  expect(await page.locator('img[src="x"]').count()).toBe(0)
  expect(complaints).toEqual([])

  // The policy holds against a script that did get in.
  const ran = await page.evaluate(() => {
    const script = document.createElement('script')
    script.textContent = 'document.documentElement.dataset.ran = "yes"'
    document.head.append(script)
    return document.documentElement.dataset['ran'] ?? 'no'
  })
  expect(ran).toBe('no')
  await context.close()
})
