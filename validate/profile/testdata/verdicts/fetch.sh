#!/bin/bash
# Gets published guides with their own examples (CC0). npm cannot install
# them, since what they depend on is not on npm, but it can hand out the
# archives.
set -euo pipefail
cd "$(dirname "$0")"
mkdir -p node_modules
while read -r name version digest; do
	folder=node_modules/$name
	if [ -e "$folder/$version.tgz" ]; then
		continue
	fi
	archive=$(npm pack --silent "$name@$version")
	if ! echo "$digest  $archive" | sha256sum -c --quiet; then
		rm "$archive"
		exit 1
	fi
	rm -rf "$folder"
	mkdir "$folder"
	tar xzf "$archive" -C "$folder" --strip-components 1
	mv "$archive" "$folder/$version.tgz"
done <<'PACKAGES'
hl7.fhir.uv.ips 2.0.0 4a5cff17580f869140614ac51097d81540c63644d550ced8d4cd9b9bce7345c4
hl7.fhir.au.base 6.0.0 b42fb020445d01e5b7c5cb739fc6add03e4449864ac5abe7306155b125f4993f
hl7.fhir.us.mcode 4.0.0 6bdb93934e2c0a859198e8c1c21eccb28915c73535d18c75c515c03bba9c45de
hl7.fhir.uv.genomics-reporting 3.0.0 42b893bb3bb2a429db194e5ee9d1e1c11d02f0700a01906a2a0500a25bd8af21
hl7.fhir.uv.sdc 4.0.0-ballot e535112cea10f581cd3aba233c065b221d8aad24104f3532466daf938de8d4f9
hl7.fhir.uv.extensions.r4 5.3.0-ballot-tc1 54f70616bbd444ba0259d5fc5a5c978d463971865f23dcef3103081f529ad213
hl7.terminology.r4 7.0.1 170c546f761fb51b3355788ca500206f6b772b21c57348c29205de85a6612baa
PACKAGES
