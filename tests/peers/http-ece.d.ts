declare module 'http_ece' {
  import type { ECDH } from 'node:crypto'
  type Options = {
    version: 'aes128gcm'
    key?: string | Buffer
    salt?: string | Buffer
    keyid?: string
    rs?: number
    dh?: string | Buffer
    privateKey?: ECDH
    authSecret?: string | Buffer
  }
  export function encrypt(plain: Buffer, options: Options): Buffer
  export function decrypt(body: Buffer, options: Options): Buffer
}
