// Reads a calendar on stdin with ical.js and prints what it understood, one JSON document.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { join } from "node:path";

const found = await import(pathToFileURL(join(process.argv[2], "ical.js", "dist", "ical.js")));
const ICAL = found.default ?? found;
const calendar = new ICAL.Component(ICAL.parse(readFileSync(0, "utf8")));
const zones = calendar.getAllSubcomponents("vtimezone");
zones.forEach((zone) => ICAL.TimezoneService.register(zone));

function alarm(each) {
  return {
    action: each.getFirstPropertyValue("action"),
    seconds: each.getFirstPropertyValue("trigger").toSeconds(),
    says: each.getFirstPropertyValue("description"),
  };
}

function told(component) {
  const event = new ICAL.Event(component);
  const geo = component.getFirstPropertyValue("geo");
  return {
    uid: event.uid,
    sequence: event.sequence,
    status: component.getFirstPropertyValue("status"),
    summary: event.summary,
    description: event.description,
    location: event.location,
    local: event.startDate.toString(),
    zone: event.startDate.zone.tzid,
    starts: event.startDate.toUnixTime(),
    minutes: event.duration.toSeconds() / 60,
    geo,
    alarms: component.getAllSubcomponents("valarm").map(alarm),
  };
}

const events = calendar.getAllSubcomponents("vevent").map(told);
const name = calendar.getFirstPropertyValue("x-wr-calname");
process.stdout.write(JSON.stringify({ name, zones: zones.map((zone) => zone.getFirstPropertyValue("tzid")), events }));
