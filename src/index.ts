import { Hono } from 'hono'

const app = new Hono()
app.get('/healthz', (c) => c.json({ ok: true }))

export default { fetch: app.fetch } satisfies ExportedHandler
