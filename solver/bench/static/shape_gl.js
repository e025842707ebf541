// The moving shape by WebGL 2.

const VERTEX = `#version 300 es
in vec3 rest; in vec3 normal; in vec3 motion; in float outward;
uniform vec4 across, up, depth; uniform float swing;
out float out_by; out vec3 seen;
void main() {
  vec4 place = vec4(rest + swing * motion, 1.0);
  gl_Position = vec4(dot(across, place), dot(up, place), dot(depth, place), 1.0);
  seen = vec3(dot(normalize(across.xyz), normal), dot(normalize(up.xyz), normal), dot(normalize(depth.xyz), normal));
  out_by = outward;
}`;
const FRAGMENT = `#version 300 es
precision mediump float;
in float out_by; in vec3 seen;
out vec4 colour;
void main() {
  vec3 pale = vec3(0.98, 0.97, 0.95), blue = vec3(0.13, 0.40, 0.67), orange = vec3(0.88, 0.51, 0.08);
  float share = pow(abs(out_by), 0.8);
  vec3 tint = mix(pale, out_by > 0.0 ? blue : orange, share);
  vec3 facing = normalize(seen);
  float light = 0.62 + 0.38 * abs(dot(facing, normalize(vec3(-0.4, 0.55, -0.75))));
  float line = smoothstep(0.5, 1.6, abs(out_by) / max(fwidth(out_by), 1e-6));
  colour = vec4(tint * light * mix(0.25, 1.0, line), 1.0);
}`;

/** Return a painter, or null where there is no WebGL 2. */
export function glPainter(canvas, body) {
  const gl = canvas.getContext("webgl2", { antialias: true, powerPreference: "low-power" });
  if (!gl) return null;
  const program = built(gl);
  if (!program) return null;
  gl.useProgram(program);
  gl.enable(gl.DEPTH_TEST);
  const fixed = [["rest", body.points, 3], ["normal", body.normals, 3]];
  for (const [name, values, size] of fixed) fill(gl, program, name, gl.createBuffer(), values, size);
  const motion = gl.createBuffer(), outward = gl.createBuffer();
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
  gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, body.triangles, gl.STATIC_DRAW);
  const at = Object.fromEntries(["across", "up", "depth", "swing"].map((name) => [name, gl.getUniformLocation(program, name)]));
  let shown = null;
  return {
    name: "webgl2",
    draw(rows, k, swing) {
      if (shown !== k) {
        fill(gl, program, "motion", motion, body.motion[k], 3);
        fill(gl, program, "outward", outward, body.outward[k], 1);
        shown = k;
      }
      gl.viewport(0, 0, canvas.width, canvas.height);
      gl.clearColor(0, 0, 0, 0);
      gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
      gl.uniform4fv(at.across, rows[0]);
      gl.uniform4fv(at.up, rows[1]);
      gl.uniform4fv(at.depth, rows[2]);
      gl.uniform1f(at.swing, swing);
      gl.drawElements(gl.TRIANGLES, body.triangles.length, gl.UNSIGNED_INT, 0);
    },
    leave() {
      gl.getExtension("WEBGL_lose_context")?.loseContext();
    },
  };
}

function built(gl) {
  const program = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
  }
  gl.linkProgram(program);
  return gl.getProgramParameter(program, gl.LINK_STATUS) ? program : null;
}

function fill(gl, program, name, buffer, values, size) {
  const place = gl.getAttribLocation(program, name);
  gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
  gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
  gl.enableVertexAttribArray(place);
  gl.vertexAttribPointer(place, size, gl.FLOAT, false, 0, 0);
}
