#!/bin/bash
# Gets a published guide with its own examples (HL7, CC0). npm cannot install
# it, since what it depends on is not on npm, but it can hand out the archive.
set -euo pipefail
cd "$(dirname "$0")"
archive=$(npm pack --silent hl7.fhir.uv.ips@2.0.0)
echo "4a5cff17580f869140614ac51097d81540c63644d550ced8d4cd9b9bce7345c4  $archive" | sha256sum -c --quiet
mkdir -p node_modules/hl7.fhir.uv.ips
tar xzf "$archive" -C node_modules/hl7.fhir.uv.ips --strip-components 1
rm "$archive"
