package program

// IDs of the frame's controls, and of the page for handing out.
const (
	idSound        = "sound"           // turns sound on or off
	idSoundYes     = "sound.yes"       // once asked by a press that would be heard: turns sound on and does it; or yes to another question
	idSoundNo      = "sound.no"        // does it without sound, and is not asked again; or no
	idLevel        = "listen.level_db" // −60 to 0 dB: how loud one hears, −20 at first
	idMore         = "more"            // opens and closes the page for handing out and presenting
	idExplain      = "explain"         // opens and closes what the units in the scene mean; with a point and a term's ID behind it, that term
	idExplainClose = "explain.close"   // closes it
	idExplainText  = "explain.text"    // what a term means; a node
	idPresent      = "present"         // one idea at a time, large; again ends it
	idPresentNext  = "present.next"    // shows the next idea
	idPresentLast  = "present.last"    // shows the one before
	idTheme        = "theme"           // dark or light
	idTextSize     = "text_size"       // 100, 125, 150, 175, 200 %, and round again
	idPicture      = "picture."        // and all, diagram or lower: what a picture shows
	idSavePNG      = "save.png"        // hands that out as PNG
	idSaveSVG      = "save.svg"        // hands that out as SVG
	idKeys         = "keys"            // the keys; a node of the page
	idKept         = "kept"            // what is kept; a node of the page
	idSoundStats   = "sound.stats"     // how the sound fares; a node of the page
)
