package site

import (
	"fmt"
	"strings"

	"gainwright/cmd/gainwright/internal/serve"
)

// headers are words for whoever runs a web server.
func headers() string {
	var list, nginx, apache, caddy strings.Builder
	for _, h := range serve.Headers() {
		fmt.Fprintf(&list, "  %s: %s\n", h[0], h[1])
		fmt.Fprintf(&nginx, "    add_header %s \"%s\" always;\n", h[0], h[1])
		fmt.Fprintf(&apache, "  Header always set %s \"%s\"\n", h[0], h[1])
		fmt.Fprintf(&caddy, "      %s \"%s\"\n", h[0], h[1])
	}
	return fmt.Sprintf(headersText, list.String(), nginx.String(), apache.String(), caddy.String())
}

const headersText = `What a web server may set for this site
=======================================

The site works as it is, from any server and under any path. Nothing below has to be
done; each point says what it is good for. The examples are for a site at /gain/.

1. https. Over plain http (but on the same computer) browsers give a page neither their
   audio worklet nor a microphone nor a clipboard, and keep nothing for visits without a
   network: sound then comes late, and the page says so.

2. Types. .wasm is application/wasm, .json application/json, .js text/javascript. With a
   wrong type the scene starts all the same; a server that refuses endings that it does
   not know (some do) has to be told of .wasm, .gz and .br.

3. Compression. scene.wasm lies beside scene.wasm.br and scene.wasm.gz, which are a fifth
   of its size. A server that sends scene.wasm.br with "Content-Encoding: br" when it is
   asked for scene.wasm makes the first visit quickest. Without it the page fetches
   scene.wasm.gz and unpacks it itself. What has been compiled in advance must not be
   compressed twice.

4. How long it is kept. index.html, worker.js: "Cache-Control: no-cache", so that a new
   version is noticed. The page asks for scene.wasm, site.js, start.js, wasm_exec.js and
   style.css under addresses that name what is in them: those may be kept for good.

5. Safety. The page states its own policy, but for frames: whether another site may show
   this one inside a page of its own only a header can say. The first line forbids that;
   leave frame-ancestors out where a learning system shows the site. Permissions-Policy
   lets this page alone ask for the microphone, which browsers do anyhow; what is heard
   stays in the browser. A page around it has to lend it: allow="microphone".

%s
nginx
-----
location /gain/ {
    gzip_static on;
    # brotli_static on;      # where that module is there
    add_header Cache-Control "no-cache";
%s}

Apache (.htaccess; needs mod_headers and mod_rewrite)
------
AddType application/wasm .wasm
RewriteEngine on
RewriteCond %%{HTTP:Accept-Encoding} br
RewriteRule ^scene\.wasm$ scene.wasm.br [L,T=application/wasm,E=coded:br,E=no-brotli:1,E=no-gzip:1]
Header set Content-Encoding br env=coded
Header set Content-Encoding br env=REDIRECT_coded
Header append Vary Accept-Encoding
Header set Cache-Control "no-cache"
<IfModule mod_headers.c>
%s</IfModule>

Caddy
-----
handle_path /gain/* {
    header {
      Cache-Control "no-cache"
%s    }
    file_server {
      precompressed br gzip
    }
}
`
