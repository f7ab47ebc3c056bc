import {render} from "preact";
render(<p>russet</p>, document.getElementById("bench")!);
