BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0003');
CREATE TABLE event (
	id VARCHAR(100) NOT NULL, 
	"plan" VARCHAR(20) NOT NULL, 
	sheet INTEGER, 
	what VARCHAR(20) NOT NULL, 
	panel VARCHAR(400), 
	at_step VARCHAR(20), 
	offcut VARCHAR(80), 
	size TEXT, 
	flaw TEXT, 
	undoes VARCHAR(100), 
	stands BOOLEAN NOT NULL, 
	at BIGINT NOT NULL, 
	who VARCHAR(80) DEFAULT '' NOT NULL, 
	device VARCHAR(400) DEFAULT '' NOT NULL, 
	note VARCHAR(400) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_event PRIMARY KEY (id)
);
INSERT INTO "event" VALUES('e1','H2K7-PA7P',1,'sheet cut',NULL,NULL,NULL,NULL,NULL,NULL,1,1804491000000000,'table 1','table','');
INSERT INTO "event" VALUES('e2','H2K7-PA7P',1,'offcut kept',NULL,NULL,'H2K7-PA7P.1.a',NULL,NULL,NULL,1,1804491000000000,'desk','table','');
INSERT INTO "event" VALUES('e3','H2K7-PA7P',1,'panel broken','K-1/front/1','edging',NULL,NULL,NULL,NULL,1,1804491300000000,'desk','table','');
CREATE TABLE item (
	id INTEGER NOT NULL, 
	kind VARCHAR(10) NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	glass VARCHAR(40) NOT NULL, 
	width BIGINT NOT NULL, 
	height BIGINT NOT NULL, 
	raw VARCHAR(40) DEFAULT '' NOT NULL, 
	price BIGINT, 
	supplier VARCHAR(80) DEFAULT '' NOT NULL, 
	place VARCHAR(80) DEFAULT '' NOT NULL, 
	note VARCHAR(400) DEFAULT '' NOT NULL, 
	measured BIGINT, 
	since VARCHAR(10) NOT NULL, 
	made_plan VARCHAR(20), 
	made_sheet INTEGER, 
	flaws TEXT DEFAULT '[]' NOT NULL, 
	on_hand INTEGER DEFAULT '0' NOT NULL, 
	reserved INTEGER DEFAULT '0' NOT NULL, 
	expected INTEGER DEFAULT '0' NOT NULL, take INTEGER, 
	CONSTRAINT pk_item PRIMARY KEY (id), 
	CONSTRAINT uq_item_name UNIQUE (name), 
	CONSTRAINT ck_item_counts CHECK (on_hand >= 0 and reserved >= 0 and expected >= 0), 
	CONSTRAINT ck_item_taken CHECK (reserved <= on_hand + expected), 
	CONSTRAINT ck_item_one_piece CHECK (kind = 'sheet' or on_hand + expected <= 1)
);
INSERT INTO "item" VALUES(1,'sheet','C-1','clear-10',3210000000,2250000000,'left right bottom top',1257300,'','','',NULL,'2027-03-01',NULL,NULL,'[]',6,3,0,NULL);
INSERT INTO "item" VALUES(2,'offcut','O''Neil; drop table item','clear-10',900000000,700000000,'',NULL,'','','%s {0} \ --',NULL,'2027-03-01',NULL,NULL,'[]',1,0,0,NULL);
INSERT INTO "item" VALUES(3,'offcut','R-7','clear-10',900000000,700000000,'',NULL,'','','%s {0} \ --',NULL,'2027-03-01',NULL,NULL,'[[100000000, 50000000, 30000000, 2000000, "scratch"], [400000000, 90000000, 1000000, 1000000]]',1,0,0,NULL);
INSERT INTO "item" VALUES(4,'sheet','C-2','clear-10',2550000000,2250000000,'left right bottom top',1257300,'','','',NULL,'2027-03-01',NULL,NULL,'[]',2,0,0,3);
INSERT INTO "item" VALUES(5,'offcut','H2K7-PA7P.1.a','clear-10',640000000,2250000000,'right bottom top',NULL,'','','',NULL,'2027-03-08','H2K7-PA7P',1,'[]',1,0,0,NULL);
INSERT INTO "item" VALUES(6,'offcut','H2K7-PA7P.2.a','clear-10',640000000,2250000000,'right bottom top',NULL,'','','',NULL,'2027-03-08','H2K7-PA7P',2,'[]',0,1,1,NULL);
CREATE TABLE movement (
	id INTEGER NOT NULL, 
	at BIGINT NOT NULL, 
	kind VARCHAR(20) NOT NULL, 
	item INTEGER NOT NULL, 
	on_hand INTEGER DEFAULT '0' NOT NULL, 
	reserved INTEGER DEFAULT '0' NOT NULL, 
	expected INTEGER DEFAULT '0' NOT NULL, 
	who VARCHAR(80) DEFAULT '' NOT NULL, 
	why VARCHAR(400) DEFAULT '' NOT NULL, 
	"plan" VARCHAR(20), 
	sheet INTEGER, 
	panel VARCHAR(400), 
	event VARCHAR(100), 
	place VARCHAR(80), 
	CONSTRAINT pk_movement PRIMARY KEY (id), 
	CONSTRAINT fk_movement_item FOREIGN KEY(item) REFERENCES item (id)
);
INSERT INTO "movement" VALUES(1,1804491000000000,'received',1,7,0,0,'desk','',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(2,1804491000000000,'received',2,1,0,0,'desk','',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(3,1804491000000000,'received',3,1,0,0,'desk','',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(4,1804491000000000,'received',4,2,0,0,'desk','',NULL,NULL,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(5,1804491000000000,'reserved',1,0,1,0,'desk','','H2K7-PA7P',1,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(6,1804491000000000,'reserved',1,0,1,0,'desk','','H2K7-PA7P',2,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(7,1804491000000000,'reserved',1,0,1,0,'desk','','H2K7-PA7P',3,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(8,1804491000000000,'offcut expected',5,0,0,1,'desk','','H2K7-PA7P',1,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(9,1804491000000000,'offcut expected',6,0,0,1,'desk','','H2K7-PA7P',2,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(10,1804491000000000,'reserved',1,0,1,0,'desk','','MW3G-EDJW',1,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(11,1804491000000000,'reserved',1,0,1,0,'desk','','MW3G-EDJW',2,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(12,1804491000000000,'released',1,0,-1,0,'desk','','MW3G-EDJW',1,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(13,1804491000000000,'released',1,0,-1,0,'desk','','MW3G-EDJW',2,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(14,1804491000000000,'cut',1,-1,-1,0,'table 1','','H2K7-PA7P',1,NULL,'e1',NULL);
INSERT INTO "movement" VALUES(15,1804491000000000,'offcut kept',5,1,0,-1,'desk','','H2K7-PA7P',1,NULL,'e2',NULL);
INSERT INTO "movement" VALUES(16,1804491300000000,'broken',1,0,0,0,'desk','','H2K7-PA7P',1,'K-1/front/1','e3',NULL);
INSERT INTO "movement" VALUES(17,1804491000000000,'reserved',6,0,1,0,'desk','','2RDW-9NNW',2,NULL,NULL,NULL);
INSERT INTO "movement" VALUES(18,1804491000000000,'reserved',1,0,1,0,'desk','','2RDW-9NNW',1,NULL,NULL,NULL);
CREATE TABLE "plan" (
	id VARCHAR(20) NOT NULL, 
	state VARCHAR(10) NOT NULL, 
	follows VARCHAR(20), 
	committed BIGINT NOT NULL, 
	who VARCHAR(80) DEFAULT '' NOT NULL, 
	why VARCHAR(400) DEFAULT '' NOT NULL, 
	file TEXT NOT NULL, 
	CONSTRAINT pk_plan PRIMARY KEY (id)
);
INSERT INTO "plan" VALUES('H2K7-PA7P','open',NULL,1804491000000000,'desk','','{
 "schema": "panewright.plan/1",
 "plan": "H2K7-PA7P",
 "program": "panewright",
 "seed": 0,
 "effort": 1,
 "habit": "stop",
 "length_unit": "mm",
 "currency": "EUR",
 "rules": {
  "clear-10": {"break_out": 30, "levels": 3, "last_cut": true, "longest_cut": null, "largest_piece": null, "level1_gap": [0, null], "least_offcut": [600, 300], "corner_depth": 25, "least_angle": 30, "longest_angled_cut": null, "mark_step": null}
 },
 "panels": [
  {"id": "K-1/front/1", "order": "K-1", "name": "front", "due": null, "purpose": "order", "glass": "clear-10", "thickness": 10, "mass_kg": 6, "finished": [[0, 0], [600, 0], [600, 400], [0, 400]], "cut": [[0, 0], [600, 0], [600, 400], [0, 400]], "edges": [{"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}], "openings": [], "narrow": false, "turn": "any", "mirror": false},
  {"id": "K-1/front/2", "order": "K-1", "name": "front", "due": null, "purpose": "order", "glass": "clear-10", "thickness": 10, "mass_kg": 6, "finished": [[0, 0], [600, 0], [600, 400], [0, 400]], "cut": [[0, 0], [600, 0], [600, 400], [0, 400]], "edges": [{"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}], "openings": [], "narrow": false, "turn": "any", "mirror": false},
  {"id": "K-1/front/3", "order": "K-1", "name": "front", "due": null, "purpose": "order", "glass": "clear-10", "thickness": 10, "mass_kg": 6, "finished": [[0, 0], [600, 0], [600, 400], [0, 400]], "cut": [[0, 0], [600, 0], [600, 400], [0, 400]], "edges": [{"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}], "openings": [], "narrow": false, "turn": "any", "mirror": false},
  {"id": "K-1/front/4", "order": "K-1", "name": "front", "due": null, "purpose": "order", "glass": "clear-10", "thickness": 10, "mass_kg": 6, "finished": [[0, 0], [600, 0], [600, 400], [0, 400]], "cut": [[0, 0], [600, 0], [600, 400], [0, 400]], "edges": [{"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}], "openings": [], "narrow": false, "turn": "any", "mirror": false}
 ],
 "sheets": [
  {
   "number": 1,
   "day": null,
   "glass": "clear-10",
   "stock": "clear-10 3210x2250",
   "is_offcut": false,
   "source": "rack",
   "cost": 60,
   "width": 3210,
   "height": 2250,
   "raw": [
    "left",
    "right",
    "bottom",
    "top"
   ],
   "trim": {
    "left": 0,
    "right": 0,
    "bottom": 0,
    "top": 0
   },
   "flaws": [],
   "cuts": [
    {"step": 1, "piece": "s", "from": [2570, 0], "to": [2570, 2250], "makes": ["s.1", "s.2"], "kind": "main", "level": 1},
    {"step": 2, "piece": "s.1", "from": [600, 0], "to": [600, 2250], "makes": ["s.1.1", "s.1.2"], "kind": "main", "level": 1},
    {"step": 3, "piece": "s.1.1", "from": [0, 400], "to": [600, 400], "makes": ["s.1.1.1", "s.1.1.2"], "kind": "main", "level": 2}
   ],
   "leaves": [
    {"piece": "s.1.1.1", "outline": [[0, 400], [600, 400], [600, 2250], [0, 2250]], "is": "cullet"},
    {"piece": "s.1.1.2", "outline": [[0, 0], [600, 0], [600, 400], [0, 400]], "is": "panel", "panel": "K-1/front/1", "turned": 0, "mirrored": false},
    {"piece": "s.1.2", "outline": [[600, 0], [2570, 0], [2570, 2250], [600, 2250]], "is": "cullet"},
    {"piece": "s.2", "outline": [[2570, 0], [3210, 0], [3210, 2250], [2570, 2250]], "is": "offcut", "offcut": "H2K7-PA7P.1.a", "raw": ["right", "bottom", "top"]}
   ]
  },
  {
   "number": 2,
   "day": null,
   "glass": "clear-10",
   "stock": "clear-10 3210x2250",
   "is_offcut": false,
   "source": "rack",
   "cost": 60,
   "width": 3210,
   "height": 2250,
   "raw": [
    "left",
    "right",
    "bottom",
    "top"
   ],
   "trim": {
    "left": 0,
    "right": 0,
    "bottom": 0,
    "top": 0
   },
   "flaws": [],
   "cuts": [
    {"step": 1, "piece": "s", "from": [2570, 0], "to": [2570, 2250], "makes": ["s.1", "s.2"], "kind": "main", "level": 1},
    {"step": 2, "piece": "s.1", "from": [600, 0], "to": [600, 2250], "makes": ["s.1.1", "s.1.2"], "kind": "main", "level": 1},
    {"step": 3, "piece": "s.1.1", "from": [0, 400], "to": [600, 400], "makes": ["s.1.1.1", "s.1.1.2"], "kind": "main", "level": 2}
   ],
   "leaves": [
    {"piece": "s.1.1.1", "outline": [[0, 400], [600, 400], [600, 2250], [0, 2250]], "is": "cullet"},
    {"piece": "s.1.1.2", "outline": [[0, 0], [600, 0], [600, 400], [0, 400]], "is": "panel", "panel": "K-1/front/2", "turned": 0, "mirrored": false},
    {"piece": "s.1.2", "outline": [[600, 0], [2570, 0], [2570, 2250], [600, 2250]], "is": "cullet"},
    {"piece": "s.2", "outline": [[2570, 0], [3210, 0], [3210, 2250], [2570, 2250]], "is": "offcut", "offcut": "H2K7-PA7P.2.a", "raw": ["right", "bottom", "top"]}
   ]
  },
  {
   "number": 3,
   "day": null,
   "glass": "clear-10",
   "stock": "clear-10 3210x2250",
   "is_offcut": false,
   "source": "rack",
   "cost": 60,
   "width": 3210,
   "height": 2250,
   "raw": [
    "left",
    "right",
    "bottom",
    "top"
   ],
   "trim": {
    "left": 0,
    "right": 0,
    "bottom": 0,
    "top": 0
   },
   "flaws": [],
   "cuts": [
    {"step": 1, "piece": "s", "from": [600, 0], "to": [600, 2250], "makes": ["s.1", "s.2"], "kind": "main", "level": 1},
    {"step": 2, "piece": "s.1", "from": [0, 400], "to": [600, 400], "makes": ["s.1.1", "s.1.2"], "kind": "main", "level": 2}
   ],
   "leaves": [
    {"piece": "s.1.1", "outline": [[0, 400], [600, 400], [600, 2250], [0, 2250]], "is": "cullet"},
    {"piece": "s.1.2", "outline": [[0, 0], [600, 0], [600, 400], [0, 400]], "is": "panel", "panel": "K-1/front/3", "turned": 0, "mirrored": false},
    {"piece": "s.2", "outline": [[600, 0], [3210, 0], [3210, 2250], [600, 2250]], "is": "cullet"}
   ]
  },
  {
   "number": 4,
   "day": null,
   "glass": "clear-10",
   "stock": "clear-10 6000x2250",
   "is_offcut": false,
   "source": "buy",
   "cost": 60,
   "width": 6000,
   "height": 2250,
   "raw": [
    "left",
    "right",
    "bottom",
    "top"
   ],
   "trim": {
    "left": 0,
    "right": 0,
    "bottom": 0,
    "top": 0
   },
   "flaws": [],
   "cuts": [
    {"step": 1, "piece": "s", "from": [600, 0], "to": [600, 2250], "makes": ["s.1", "s.2"], "kind": "main", "level": 1},
    {"step": 2, "piece": "s.1", "from": [0, 400], "to": [600, 400], "makes": ["s.1.1", "s.1.2"], "kind": "main", "level": 2}
   ],
   "leaves": [
    {"piece": "s.1.1", "outline": [[0, 400], [600, 400], [600, 2250], [0, 2250]], "is": "cullet"},
    {"piece": "s.1.2", "outline": [[0, 0], [600, 0], [600, 400], [0, 400]], "is": "panel", "panel": "K-1/front/4", "turned": 0, "mirrored": false},
    {"piece": "s.2", "outline": [[600, 0], [6000, 0], [6000, 2250], [600, 2250]], "is": "cullet"}
   ]
  }
 ],
 "unplaced": [],
 "figures": {
  "total": {
   "sheets": 4,
   "sheet_area_m2": 35.1675,
   "cut_area_m2": 0.96,
   "finished_area_m2": 0.96,
   "trim_area_m2": 0,
   "spare_area_m2": 0,
   "filler_area_m2": 0,
   "offcut_area_m2": 2.88,
   "cullet_area_m2": 31.3275,
   "yield": 0.027298,
   "net_yield": 0.029733,
   "finished_yield": 0.027298,
   "scrap_kg": 783.189,
   "cost": 240
  },
  "by_glass": {
   "clear-10": {"sheets": 4, "sheet_area_m2": 35.1675, "cut_area_m2": 0.96, "finished_area_m2": 0.96, "trim_area_m2": 0, "spare_area_m2": 0, "filler_area_m2": 0, "offcut_area_m2": 2.88, "cullet_area_m2": 31.3275, "yield": 0.027298, "net_yield": 0.029733, "finished_yield": 0.027298, "scrap_kg": 783.189, "cost": 240, "lower_bound": {"cost": 240, "sheets": 4, "by": "area", "class": "any cutting"}, "gap": 0, "status": "feasible", "stopped_by": "made up"}
  },
  "by_order": {
   "K-1": {"cut_area_m2": 0.96, "finished_area_m2": 0.96, "waste_share_m2": 31.3275, "cost_share": 240}
  }
 }
}
');
INSERT INTO "plan" VALUES('MW3G-EDJW','withdrawn',NULL,1804491000000000,'desk','','{
 "schema": "panewright.plan/1",
 "plan": "MW3G-EDJW",
 "program": "panewright",
 "seed": 0,
 "effort": 1,
 "habit": "stop",
 "length_unit": "mm",
 "currency": "EUR",
 "rules": {
  "clear-10": {"break_out": 30, "levels": 3, "last_cut": true, "longest_cut": null, "largest_piece": null, "level1_gap": [0, null], "least_offcut": [600, 300], "corner_depth": 25, "least_angle": 30, "longest_angled_cut": null, "mark_step": null}
 },
 "panels": [
  {"id": "K-2/front/1", "order": "K-2", "name": "front", "due": null, "purpose": "order", "glass": "clear-10", "thickness": 10, "mass_kg": 6, "finished": [[0, 0], [600, 0], [600, 400], [0, 400]], "cut": [[0, 0], [600, 0], [600, 400], [0, 400]], "edges": [{"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}], "openings": [], "narrow": false, "turn": "any", "mirror": false},
  {"id": "K-2/front/2", "order": "K-2", "name": "front", "due": null, "purpose": "order", "glass": "clear-10", "thickness": 10, "mass_kg": 6, "finished": [[0, 0], [600, 0], [600, 400], [0, 400]], "cut": [[0, 0], [600, 0], [600, 400], [0, 400]], "edges": [{"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}], "openings": [], "narrow": false, "turn": "any", "mirror": false}
 ],
 "sheets": [
  {
   "number": 1,
   "day": null,
   "glass": "clear-10",
   "stock": "clear-10 3210x2250",
   "is_offcut": false,
   "source": "rack",
   "cost": 60,
   "width": 3210,
   "height": 2250,
   "raw": [
    "left",
    "right",
    "bottom",
    "top"
   ],
   "trim": {
    "left": 0,
    "right": 0,
    "bottom": 0,
    "top": 0
   },
   "flaws": [],
   "cuts": [
    {"step": 1, "piece": "s", "from": [600, 0], "to": [600, 2250], "makes": ["s.1", "s.2"], "kind": "main", "level": 1},
    {"step": 2, "piece": "s.1", "from": [0, 400], "to": [600, 400], "makes": ["s.1.1", "s.1.2"], "kind": "main", "level": 2}
   ],
   "leaves": [
    {"piece": "s.1.1", "outline": [[0, 400], [600, 400], [600, 2250], [0, 2250]], "is": "cullet"},
    {"piece": "s.1.2", "outline": [[0, 0], [600, 0], [600, 400], [0, 400]], "is": "panel", "panel": "K-2/front/1", "turned": 0, "mirrored": false},
    {"piece": "s.2", "outline": [[600, 0], [3210, 0], [3210, 2250], [600, 2250]], "is": "cullet"}
   ]
  },
  {
   "number": 2,
   "day": null,
   "glass": "clear-10",
   "stock": "clear-10 3210x2250",
   "is_offcut": false,
   "source": "rack",
   "cost": 60,
   "width": 3210,
   "height": 2250,
   "raw": [
    "left",
    "right",
    "bottom",
    "top"
   ],
   "trim": {
    "left": 0,
    "right": 0,
    "bottom": 0,
    "top": 0
   },
   "flaws": [],
   "cuts": [
    {"step": 1, "piece": "s", "from": [600, 0], "to": [600, 2250], "makes": ["s.1", "s.2"], "kind": "main", "level": 1},
    {"step": 2, "piece": "s.1", "from": [0, 400], "to": [600, 400], "makes": ["s.1.1", "s.1.2"], "kind": "main", "level": 2}
   ],
   "leaves": [
    {"piece": "s.1.1", "outline": [[0, 400], [600, 400], [600, 2250], [0, 2250]], "is": "cullet"},
    {"piece": "s.1.2", "outline": [[0, 0], [600, 0], [600, 400], [0, 400]], "is": "panel", "panel": "K-2/front/2", "turned": 0, "mirrored": false},
    {"piece": "s.2", "outline": [[600, 0], [3210, 0], [3210, 2250], [600, 2250]], "is": "cullet"}
   ]
  }
 ],
 "unplaced": [],
 "figures": {
  "total": {
   "sheets": 2,
   "sheet_area_m2": 14.445,
   "cut_area_m2": 0.48,
   "finished_area_m2": 0.48,
   "trim_area_m2": 0,
   "spare_area_m2": 0,
   "filler_area_m2": 0,
   "offcut_area_m2": 0,
   "cullet_area_m2": 13.965,
   "yield": 0.033229,
   "net_yield": 0.033229,
   "finished_yield": 0.033229,
   "scrap_kg": 349.126,
   "cost": 120
  },
  "by_glass": {
   "clear-10": {"sheets": 2, "sheet_area_m2": 14.445, "cut_area_m2": 0.48, "finished_area_m2": 0.48, "trim_area_m2": 0, "spare_area_m2": 0, "filler_area_m2": 0, "offcut_area_m2": 0, "cullet_area_m2": 13.965, "yield": 0.033229, "net_yield": 0.033229, "finished_yield": 0.033229, "scrap_kg": 349.126, "cost": 120, "lower_bound": {"cost": 120, "sheets": 2, "by": "area", "class": "any cutting"}, "gap": 0, "status": "feasible", "stopped_by": "made up"}
  },
  "by_order": {
   "K-2": {"cut_area_m2": 0.48, "finished_area_m2": 0.48, "waste_share_m2": 13.965, "cost_share": 120}
  }
 }
}
');
INSERT INTO "plan" VALUES('2RDW-9NNW','open',NULL,1804491000000000,'desk','','{
 "schema": "panewright.plan/1",
 "plan": "2RDW-9NNW",
 "program": "panewright",
 "seed": 0,
 "effort": 1,
 "habit": "stop",
 "length_unit": "mm",
 "currency": "EUR",
 "rules": {
  "clear-10": {"break_out": 30, "levels": 3, "last_cut": true, "longest_cut": null, "largest_piece": null, "level1_gap": [0, null], "least_offcut": [600, 300], "corner_depth": 25, "least_angle": 30, "longest_angled_cut": null, "mark_step": null}
 },
 "panels": [
  {"id": "K-3/front/1", "order": "K-3", "name": "front", "due": null, "purpose": "order", "glass": "clear-10", "thickness": 10, "mass_kg": 6, "finished": [[0, 0], [600, 0], [600, 400], [0, 400]], "cut": [[0, 0], [600, 0], [600, 400], [0, 400]], "edges": [{"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}], "openings": [], "narrow": false, "turn": "any", "mirror": false},
  {"id": "K-3/front/2", "order": "K-3", "name": "front", "due": null, "purpose": "order", "glass": "clear-10", "thickness": 10, "mass_kg": 6, "finished": [[0, 0], [600, 0], [600, 400], [0, 400]], "cut": [[0, 0], [600, 0], [600, 400], [0, 400]], "edges": [{"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}, {"work": "polished", "allowance": 0, "mitre": 0, "small_face": null}], "openings": [], "narrow": false, "turn": "any", "mirror": false}
 ],
 "sheets": [
  {
   "number": 1,
   "day": null,
   "glass": "clear-10",
   "stock": "clear-10 3210x2250",
   "is_offcut": false,
   "source": "rack",
   "cost": 60,
   "width": 3210,
   "height": 2250,
   "raw": [
    "left",
    "right",
    "bottom",
    "top"
   ],
   "trim": {
    "left": 0,
    "right": 0,
    "bottom": 0,
    "top": 0
   },
   "flaws": [],
   "cuts": [
    {"step": 1, "piece": "s", "from": [600, 0], "to": [600, 2250], "makes": ["s.1", "s.2"], "kind": "main", "level": 1},
    {"step": 2, "piece": "s.1", "from": [0, 400], "to": [600, 400], "makes": ["s.1.1", "s.1.2"], "kind": "main", "level": 2}
   ],
   "leaves": [
    {"piece": "s.1.1", "outline": [[0, 400], [600, 400], [600, 2250], [0, 2250]], "is": "cullet"},
    {"piece": "s.1.2", "outline": [[0, 0], [600, 0], [600, 400], [0, 400]], "is": "panel", "panel": "K-3/front/1", "turned": 0, "mirrored": false},
    {"piece": "s.2", "outline": [[600, 0], [3210, 0], [3210, 2250], [600, 2250]], "is": "cullet"}
   ]
  },
  {
   "number": 2,
   "day": null,
   "glass": "clear-10",
   "stock": "H2K7-PA7P.2.a",
   "is_offcut": true,
   "source": "rack",
   "cost": 60,
   "width": 640,
   "height": 2250,
   "raw": [],
   "trim": {
    "left": 0,
    "right": 0,
    "bottom": 0,
    "top": 0
   },
   "flaws": [],
   "cuts": [
    {"step": 1, "piece": "s", "from": [600, 0], "to": [600, 2250], "makes": ["s.1", "s.2"], "kind": "main", "level": 1},
    {"step": 2, "piece": "s.1", "from": [0, 400], "to": [600, 400], "makes": ["s.1.1", "s.1.2"], "kind": "main", "level": 2}
   ],
   "leaves": [
    {"piece": "s.1.1", "outline": [[0, 400], [600, 400], [600, 2250], [0, 2250]], "is": "cullet"},
    {"piece": "s.1.2", "outline": [[0, 0], [600, 0], [600, 400], [0, 400]], "is": "panel", "panel": "K-3/front/2", "turned": 0, "mirrored": false},
    {"piece": "s.2", "outline": [[600, 0], [640, 0], [640, 2250], [600, 2250]], "is": "cullet"}
   ]
  }
 ],
 "unplaced": [],
 "figures": {
  "total": {
   "sheets": 2,
   "sheet_area_m2": 8.6625,
   "cut_area_m2": 0.48,
   "finished_area_m2": 0.48,
   "trim_area_m2": 0,
   "spare_area_m2": 0,
   "filler_area_m2": 0,
   "offcut_area_m2": 0,
   "cullet_area_m2": 8.1825,
   "yield": 0.055411,
   "net_yield": 0.055411,
   "finished_yield": 0.055411,
   "scrap_kg": 204.563,
   "cost": 120
  },
  "by_glass": {
   "clear-10": {"sheets": 2, "sheet_area_m2": 8.6625, "cut_area_m2": 0.48, "finished_area_m2": 0.48, "trim_area_m2": 0, "spare_area_m2": 0, "filler_area_m2": 0, "offcut_area_m2": 0, "cullet_area_m2": 8.1825, "yield": 0.055411, "net_yield": 0.055411, "finished_yield": 0.055411, "scrap_kg": 204.563, "cost": 120, "lower_bound": {"cost": 120, "sheets": 2, "by": "area", "class": "any cutting"}, "gap": 0, "status": "feasible", "stopped_by": "made up"}
  },
  "by_order": {
   "K-3": {"cut_area_m2": 0.48, "finished_area_m2": 0.48, "waste_share_m2": 8.1825, "cost_share": 120}
  }
 }
}
');
CREATE TABLE plan_panel (
	"plan" VARCHAR(20) NOT NULL, 
	panel VARCHAR(400) NOT NULL, 
	sheet INTEGER, 
	"order" VARCHAR(200) NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	purpose VARCHAR(10) NOT NULL, 
	glass VARCHAR(40) NOT NULL, 
	due VARCHAR(10), 
	width BIGINT NOT NULL, 
	height BIGINT NOT NULL, 
	edged BOOLEAN DEFAULT 0 NOT NULL, 
	drilled BOOLEAN DEFAULT 0 NOT NULL, 
	remakes VARCHAR(400), 
	given_to VARCHAR(400), 
	CONSTRAINT pk_plan_panel PRIMARY KEY ("plan", panel), 
	CONSTRAINT fk_plan_panel_plan FOREIGN KEY("plan") REFERENCES "plan" (id)
);
INSERT INTO "plan_panel" VALUES('H2K7-PA7P','K-1/front/1',1,'K-1','front','order','clear-10',NULL,600000000,400000000,1,0,NULL,NULL);
INSERT INTO "plan_panel" VALUES('H2K7-PA7P','K-1/front/2',2,'K-1','front','order','clear-10',NULL,600000000,400000000,1,0,NULL,NULL);
INSERT INTO "plan_panel" VALUES('H2K7-PA7P','K-1/front/3',3,'K-1','front','order','clear-10',NULL,600000000,400000000,1,0,NULL,NULL);
INSERT INTO "plan_panel" VALUES('H2K7-PA7P','K-1/front/4',4,'K-1','front','order','clear-10',NULL,600000000,400000000,1,0,NULL,NULL);
INSERT INTO "plan_panel" VALUES('MW3G-EDJW','K-2/front/1',1,'K-2','front','order','clear-10',NULL,600000000,400000000,1,0,NULL,NULL);
INSERT INTO "plan_panel" VALUES('MW3G-EDJW','K-2/front/2',2,'K-2','front','order','clear-10',NULL,600000000,400000000,1,0,NULL,NULL);
INSERT INTO "plan_panel" VALUES('2RDW-9NNW','K-3/front/1',1,'K-3','front','order','clear-10',NULL,600000000,400000000,1,0,NULL,NULL);
INSERT INTO "plan_panel" VALUES('2RDW-9NNW','K-3/front/2',2,'K-3','front','order','clear-10',NULL,600000000,400000000,1,0,NULL,NULL);
CREATE TABLE plan_sheet (
	"plan" VARCHAR(20) NOT NULL, 
	number INTEGER NOT NULL, 
	state VARCHAR(20) NOT NULL, 
	item INTEGER, 
	glass VARCHAR(40) NOT NULL, 
	stock VARCHAR(80) NOT NULL, 
	is_offcut BOOLEAN NOT NULL, 
	width BIGINT NOT NULL, 
	height BIGINT NOT NULL, 
	day VARCHAR(10), 
	cut_at BIGINT, 
	cut_by VARCHAR(80) DEFAULT '' NOT NULL, 
	figures TEXT NOT NULL, 
	CONSTRAINT pk_plan_sheet PRIMARY KEY ("plan", number), 
	CONSTRAINT fk_plan_sheet_plan FOREIGN KEY("plan") REFERENCES "plan" (id), 
	CONSTRAINT fk_plan_sheet_item FOREIGN KEY(item) REFERENCES item (id)
);
INSERT INTO "plan_sheet" VALUES('H2K7-PA7P',1,'cut',1,'clear-10','clear-10 3210x2250',0,3210000000,2250000000,NULL,1804491000000000,'table 1','{"sheet": 14445000000000000000, "cut": 480000000000000000, "finished": 480000000000000000, "trim": 0, "cullet": 11085000000000000000, "offcut": 2880000000000000000, "spare": 0, "filler": 0, "cost": 600000, "scrap_grams": 138563}');
INSERT INTO "plan_sheet" VALUES('H2K7-PA7P',2,'reserved',1,'clear-10','clear-10 3210x2250',0,3210000000,2250000000,NULL,NULL,'','{"sheet": 14445000000000000000, "cut": 480000000000000000, "finished": 480000000000000000, "trim": 0, "cullet": 11085000000000000000, "offcut": 2880000000000000000, "spare": 0, "filler": 0, "cost": 600000, "scrap_grams": 138563}');
INSERT INTO "plan_sheet" VALUES('H2K7-PA7P',3,'reserved',1,'clear-10','clear-10 3210x2250',0,3210000000,2250000000,NULL,NULL,'','{"sheet": 14445000000000000000, "cut": 480000000000000000, "finished": 480000000000000000, "trim": 0, "cullet": 13965000000000000000, "offcut": 0, "spare": 0, "filler": 0, "cost": 600000, "scrap_grams": 174563}');
INSERT INTO "plan_sheet" VALUES('H2K7-PA7P',4,'to buy',NULL,'clear-10','clear-10 6000x2250',0,6000000000,2250000000,NULL,NULL,'','{"sheet": 27000000000000000000, "cut": 480000000000000000, "finished": 480000000000000000, "trim": 0, "cullet": 26520000000000000000, "offcut": 0, "spare": 0, "filler": 0, "cost": 600000, "scrap_grams": 331500}');
INSERT INTO "plan_sheet" VALUES('MW3G-EDJW',1,'released',NULL,'clear-10','clear-10 3210x2250',0,3210000000,2250000000,NULL,NULL,'','{"sheet": 14445000000000000000, "cut": 480000000000000000, "finished": 480000000000000000, "trim": 0, "cullet": 13965000000000000000, "offcut": 0, "spare": 0, "filler": 0, "cost": 600000, "scrap_grams": 174563}');
INSERT INTO "plan_sheet" VALUES('MW3G-EDJW',2,'released',NULL,'clear-10','clear-10 3210x2250',0,3210000000,2250000000,NULL,NULL,'','{"sheet": 14445000000000000000, "cut": 480000000000000000, "finished": 480000000000000000, "trim": 0, "cullet": 13965000000000000000, "offcut": 0, "spare": 0, "filler": 0, "cost": 600000, "scrap_grams": 174563}');
INSERT INTO "plan_sheet" VALUES('2RDW-9NNW',1,'reserved',1,'clear-10','clear-10 3210x2250',0,3210000000,2250000000,NULL,NULL,'','{"sheet": 14445000000000000000, "cut": 480000000000000000, "finished": 480000000000000000, "trim": 0, "cullet": 13965000000000000000, "offcut": 0, "spare": 0, "filler": 0, "cost": 600000, "scrap_grams": 174563}');
INSERT INTO "plan_sheet" VALUES('2RDW-9NNW',2,'reserved',6,'clear-10','H2K7-PA7P.2.a',1,640000000,2250000000,NULL,NULL,'','{"sheet": 2880000000000000000, "cut": 480000000000000000, "finished": 480000000000000000, "trim": 0, "cullet": 2400000000000000000, "offcut": 0, "spare": 0, "filler": 0, "cost": 600000, "scrap_grams": 30000}');
CREATE TABLE purchase (
	id INTEGER NOT NULL, 
	state VARCHAR(10) NOT NULL, 
	glass VARCHAR(40) NOT NULL, 
	width BIGINT NOT NULL, 
	height BIGINT NOT NULL, 
	sheets INTEGER NOT NULL, 
	received INTEGER DEFAULT '0' NOT NULL, 
	price BIGINT, 
	supplier VARCHAR(80) DEFAULT '' NOT NULL, 
	ordered VARCHAR(10) NOT NULL, 
	promised VARCHAR(10) NOT NULL, 
	arrived VARCHAR(10), 
	note VARCHAR(400) DEFAULT '' NOT NULL, 
	listed VARCHAR(100), 
	at BIGINT NOT NULL, 
	who VARCHAR(80) DEFAULT '' NOT NULL, 
	why VARCHAR(400) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_purchase PRIMARY KEY (id), 
	CONSTRAINT ck_purchase_counts CHECK (sheets > 0 and received >= 0 and received <= sheets)
);
INSERT INTO "purchase" VALUES(1,'here','clear-10',3210000000,2250000000,10,10,1257300,'O''Neil','2027-03-01','2027-03-09','2027-03-08','',NULL,1804491000000000,'desk','');
INSERT INTO "purchase" VALUES(2,'open','clear-10',3210000000,2250000000,10,2,1257300,'O''Neil','2027-03-01','2027-03-09','2027-03-08','',NULL,1804491000000000,'desk','');
CREATE INDEX ix_item_glass_kind ON item (glass, kind);
CREATE INDEX ix_item_made_plan_made_sheet ON item (made_plan, made_sheet);
CREATE INDEX ix_item_there ON item (id) WHERE on_hand > 0 or expected > 0;
CREATE INDEX ix_plan_state ON "plan" (state);
CREATE INDEX ix_plan_follows ON "plan" (follows);
CREATE INDEX ix_plan_sheet_item ON plan_sheet (item);
CREATE INDEX ix_plan_sheet_cut_at ON plan_sheet (cut_at);
CREATE INDEX ix_plan_sheet_state ON plan_sheet (state);
CREATE INDEX ix_plan_sheet_plan_state ON plan_sheet ("plan", state);
CREATE INDEX ix_plan_panel_panel ON plan_panel (panel);
CREATE INDEX ix_plan_panel_order ON plan_panel ("order");
CREATE INDEX ix_plan_panel_plan_sheet ON plan_panel ("plan", sheet);
CREATE INDEX ix_movement_item_id ON movement (item, id);
CREATE INDEX ix_movement_plan_sheet ON movement ("plan", sheet);
CREATE INDEX ix_movement_at ON movement (at);
CREATE INDEX ix_movement_event ON movement (event);
CREATE INDEX ix_event_plan_sheet ON event ("plan", sheet);
CREATE INDEX ix_event_panel ON event (panel);
CREATE INDEX ix_event_at ON event (at);
CREATE INDEX ix_event_undoes ON event (undoes);
CREATE TRIGGER movement_no_update before update on movement begin select raise(abort, 'movements are only ever added'); end;
CREATE TRIGGER movement_no_delete before delete on movement begin select raise(abort, 'movements are only ever added'); end;
CREATE INDEX ix_purchase_state ON purchase (state);
CREATE INDEX ix_purchase_listed ON purchase (listed);
COMMIT;
