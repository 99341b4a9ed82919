// What the page uses of three.js: bundled once into three.bundle.js (see README.md in this folder).
export {
  AmbientLight, BufferAttribute, BufferGeometry, Color, DirectionalLight, DoubleSide, Group, HemisphereLight, LineBasicMaterial,
  LineSegments, MathUtils, Matrix4, Mesh, MeshBasicMaterial, MeshLambertMaterial, MOUSE, PerspectiveCamera, Plane, Points,
  PointsMaterial, Scene, ShapeUtils, TOUCH, Vector2, Vector3, WebGLRenderer,
} from 'three';
export { OrbitControls } from 'three/examples/jsm/controls/OrbitControls.js';
