import { beforeAll, describe, expect, test } from 'vitest'
import { readOperations, type Document } from './document.ts'
import { makeWorld, NOBODY, type World } from './world.ts'

let world: World
let document: Document
beforeAll(async () => {
  world = await makeWorld()
  document = (await world.call(NOBODY, 'GET /openapi.json')).body
})

describe('the OpenAPI document', () => {
  test('is 3.1 and says of every operation who may call it and how it fails', () => {
    expect(document.openapi).toBe('3.1.0')
    for (const { line, operation } of readOperations(document)) {
      expect(['public', 'person', 'session', 'watcher', 'keeper', 'host', 'source'], line).toContain(
        operation['x-access'],
      )
      expect(operation.summary, line).not.toBe('')
      expect(operation.responses, line).toHaveProperty('default.content.application/problem+json')
    }
  })

  test('holds every route that is served, so that none escapes the tests that read it', () => {
    const described = new Set(readOperations(document).map(({ line }) => line))
    const served = world.app.routes
      .filter(({ method, path }) => method !== 'ALL' && path !== '/openapi.json')
      .map(({ method, path }) => `${method} ${path.replaceAll(/:(\w+)/g, '{$1}')}`)
    expect([...new Set(served)].filter((line) => !described.has(line))).toEqual([])
    expect(described.size).toBeGreaterThan(25)
  })
})
