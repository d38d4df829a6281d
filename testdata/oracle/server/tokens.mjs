// The token endpoint of SMART Backend Services (HL7 SMART App Launch 2.0,
// "Client authentication: asymmetric"): checks a signed assertion and gives
// out short-lived access tokens.
import { createPublicKey, verify } from 'node:crypto';

export class Tokens {
  #valid = new Map(); // token to the number of requests it is still good for
  #seen = new Set(); // jti of the assertions, each good once
  #count = 0;
  given = 0;

  /** configure takes {client, key (public JWK), uses, fixed: [token]}. */
  configure(options) {
    this.options = options;
    this.#valid.clear();
    this.given = 0;
    for (const token of options?.fixed ?? []) this.#valid.set(token, options.uses ?? Infinity);
  }

  /** accepts reports whether a request with this header may pass. */
  accepts(header) {
    if (!this.options) return true;
    const token = /^Bearer (.+)$/.exec(header ?? '')?.[1];
    const left = this.#valid.get(token) ?? 0;
    if (left <= 0) return false;
    this.#valid.set(token, left - 1);
    return true;
  }

  /** give answers a token request: the status and the JSON. */
  give(form, endpoint) {
    const problem = this.#problem(form, endpoint);
    if (problem) return [400, { error: 'invalid_client', error_description: problem }];
    const token = `given-${++this.#count}`;
    this.given++;
    this.#valid.set(token, this.options.uses ?? Infinity);
    return [200, { access_token: token, token_type: 'bearer', expires_in: 300, scope: form.get('scope') }];
  }

  #problem(form, endpoint) {
    if (form.get('grant_type') !== 'client_credentials') return 'grant_type';
    if (form.get('client_assertion_type') !== 'urn:ietf:params:oauth:client-assertion-type:jwt-bearer') return 'client_assertion_type';
    if (!form.get('scope')?.startsWith('system/')) return 'scope';
    const [head, body, signature] = (form.get('client_assertion') ?? '').split('.');
    const header = JSON.parse(Buffer.from(head, 'base64url'));
    const claims = JSON.parse(Buffer.from(body, 'base64url'));
    const key = { key: createPublicKey({ key: this.options.key, format: 'jwk' }) };
    if (header.alg === 'ES384') key.dsaEncoding = 'ieee-p1363';
    else if (header.alg !== 'RS384') return 'alg';
    if (!verify('sha384', Buffer.from(`${head}.${body}`), key, Buffer.from(signature, 'base64url'))) return 'signature';
    if (header.kid !== this.options.key.kid) return 'kid';
    if (claims.iss !== this.options.client || claims.sub !== this.options.client) return 'iss and sub';
    if (claims.aud !== endpoint) return 'aud';
    const now = Date.now() / 1000;
    if (!(claims.exp > now && claims.exp <= now + 300)) return 'exp';
    if (!claims.jti || this.#seen.has(claims.jti)) return 'jti';
    this.#seen.add(claims.jti);
    return undefined;
  }
}
